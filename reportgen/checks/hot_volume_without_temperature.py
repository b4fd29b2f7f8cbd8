"""A cast-out volume has no temperature.

Wort at the boil stands four per cent higher than at 20 degrees: 1.7 litres in 42. Without the
temperature the volume counts as cold, and gravity and volume then disagree.

Fix: write the temperature of the wort, e.g. {read: 43.7 L, sample: 98 C}
Source: density of water: 3.99 % from boiling to 20 C
Passes:
    brew_day: {date: 2026-03-14, boil: {cast_out_volume: {read: 43.7 L, sample: 98 C}}}
Fails:
    brew_day: {date: 2026-03-14, boil: {cast_out_volume: 43.7 L}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.READINGS
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Remark]:
    """Look for the temperature of the cast-out volume."""
    actual = batch.actuals.get("cast_out_volume")
    if actual is None or actual.value is None:
        return
    if actual.reading.sample_temperature is None:
        yield Remark(actual.reading.position, "the temperature of the wort is not written")
