"""A volume read in hot wort has no temperature.

Boiling wort has four per cent more volume than at 20 degrees: 1.7 litres in 42. Runnings of 60 to
75 degrees in the kettle have two per cent more. Without the temperature the volume counts as
cold, and gravity and volume then disagree. Before the boil the temperature is asked for only
where that is more than the gauge can err.

Fix: write the temperature of the wort, e.g. {read: 43.7 L, sample: 98 C}
Source: density of water: 3.99 % from boiling to 20 C
Passes:
    brew_day:
      date: 2026-03-14
      run_off: {kettle_volume: {read: 47.2 L, sample: 68 C}}
      boil: {cast_out_volume: {read: 43.7 L, sample: 98 C}}
Fails:
    brew_day: {date: 2026-03-14, boil: {cast_out_volume: 43.7 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.forecast.figures import READ
from reportgen.science.density import hot_volume
from reportgen.science.number import nominal

GROUP = Group.READINGS
SEVERITY = Severity.NOTE

RUNNINGS = 65.0
"""degC of wort in the kettle before it is heated (common practice, no source)."""


def check(batch: Assessment) -> Remarks:
    """Look for the temperatures of the kettle volume and the cast-out volume."""
    for key in (figure.key for figure in READ if figure.hot):
        actual = batch.actuals.get(key)
        if actual is None or actual.value is None or actual.reading.sample_temperature is not None:
            continue
        if key == "kettle_volume":
            grown = nominal(hot_volume(1.0, RUNNINGS)) - 1.0
            if not batch.case.is_mashed or actual.value * grown <= actual.uncertainty:
                continue
        yield Remark(actual.reading.position, "the temperature of the wort is not written")
