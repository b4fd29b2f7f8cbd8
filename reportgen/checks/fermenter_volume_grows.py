"""More wort in the fermenter than came out of the kettle.

Wort shrinks as it cools and some stays with the hops. More in the fermenter than at cast-out means
a misread volume or liquor that was not written down.

Fix: check both volumes and the temperature they were read at
Source: conservation of mass
Passes:
    brew_day:
      date: 2026-03-14
      boil: {ended: 13:00, cast_out_volume: 38 L}
      pitch: {fermenter_volume: 42 L}
      added: [{what: reservoir, amount: 6 L, to: kettle, at: 13:10}]
Fails:
    brew_day: {date: 2026-03-14, boil: {cast_out_volume: 38 L}, pitch: {fermenter_volume: 42 L}}
"""

from reportgen.assessment.balance import added_after_boil
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.gravity_lost_in_transfer import came_in
from reportgen.checks.quantities import volume, volume_read
from reportgen.science.number import nominal

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare cast-out with the volume in the fermenter."""
    before, after = batch.actuals.get("cast_out_volume"), batch.actuals.get("fermenter_volume")
    if before is None or after is None or before.value is None or after.value is None:
        return
    late = added_after_boil(batch.brewed, batch.now)
    # What other fermenters got is not in this one.
    most = before.value + nominal(late - batch.brewed.wort_to_others)
    # Liquor that came in thins the wort as well: one cause, which gravity-lost-in-transfer tells.
    if after.value - after.uncertainty > most + before.uncertainty and came_in(batch) is None:
        yield Remark(
            after.reading.position,
            f"{volume_read(after, batch)} in the fermenter,"
            f" {volume_read(before, batch)} at cast-out",
            f"at most {volume(most, batch)}",
        )
