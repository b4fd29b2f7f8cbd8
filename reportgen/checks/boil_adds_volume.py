"""The boil ended with more wort than it began.

Boiling takes water away. More wort afterwards means that one of the volumes was misread, or that
one was read hot and the other cold without saying so; wort at the boil stands four per cent higher
than at 20 degrees.

Fix: write the sample temperature beside a volume read hot
Source: evaporation; expansion of water
Passes:
    brew_day:
      date: 2026-03-14
      run_off: {kettle_volume: 42 L}
      boil: {cast_out_volume: 46 L}
      added: [{what: reservoir, amount: 8 L, to: kettle}]
Fails:
    brew_day: {date: 2026-03-14, run_off: {kettle_volume: 42 L}, boil: {cast_out_volume: 46 L}}
"""

from reportgen.assessment.balance import kettle_gain
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume, volume_read
from reportgen.science.number import nominal

GROUP = Group.BOIL
SEVERITY = Severity.MINOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare the volumes before and after the boil."""
    before, after = batch.actuals.get("kettle_volume"), batch.actuals.get("cast_out_volume")
    if before is None or after is None or before.value is None or after.value is None:
        return
    gained = nominal(kettle_gain(batch.brewed))
    most = before.value + max(gained, 0.0)
    if after.value - after.uncertainty > most + before.uncertainty:
        yield Remark(
            after.reading.position,
            f"{volume_read(after, batch)} at cast-out,"
            f" {volume_read(before, batch)} before the boil",
            f"less than {volume(most, batch)}",
        )
