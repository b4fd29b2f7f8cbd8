"""The boil took off an unlikely amount of water.

Kits evaporate much the same from day to day. A quarter of the wort in an hour, or a third of the
usual rate, is more often a misread volume than a different boil.

Fix: check volumes, temperatures and clock; if true, note why; the kit's figure changes only when `history` proposes it
Source: common practice, no source
Passes:
    brew_day: {date: 2026-03-14, run_off: {kettle_volume: 46.5 L}, boil: {cast_out_volume: 42 L}}
Fails:
    brew_day: {date: 2026-03-14, run_off: {kettle_volume: 52 L}, boil: {cast_out_volume: 38 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume
from reportgen.science.number import nominal

GROUP = Group.BOIL
SEVERITY = Severity.NOTE
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare the evaporation with the kit's."""
    actual = batch.actuals.get("evaporation")
    if actual is None or actual.value is None:
        return
    usual = nominal(batch.case.evaporation)
    least, most = actual.value - actual.uncertainty, actual.value + actual.uncertainty
    # Usual over the planned time, it is the clock that is wrong, which time-missed says.
    as_planned = nominal(batch.brewed.boil_minutes) / nominal(batch.case.boil_minutes)
    most, least = max(most, most * as_planned), min(least, least * as_planned)
    if actual.value > 0 and (most < 0.4 * usual or least > 1.8 * usual):
        yield Remark(
            batch.actuals["cast_out_volume"].reading.position,
            f"{volume(actual.value, batch)} in an hour",
            f"about {volume(usual, batch)}, as the kit says",
        )
