"""The fermenter has no room for kräusen.

The head of a top fermentation stands a fifth of the wort's volume high or more. Without room it
blows into the airlock, and a blocked airlock turns the vessel into a pressure vessel. Wort that goes to
other batches is not counted.

Fix: ferment in a larger vessel, or in two
Source: common practice, no source
Passes:
    plan: {fermenter_volume: 40 L}
Fails:
    plan: {fermenter_volume: 46 L}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import volume

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "above the brim"}
UNTIL = Stage.FERMENT


def check(batch: Assessment) -> Remarks:
    """Compare the planned volume with the fermenter."""
    planned, brim = batch.case.kept_volume, batch.case.fermenter_brim
    if planned > 0.9 * brim:
        yield Remark(
            batch.record.plan.fermenter_volume.position,
            f"{volume(planned, batch)} of wort fill the fermenter to {planned / brim:.0%}",
            f"at most 90 % of the {volume(brim, batch)}",
            severity=Severity.MAJOR if planned > brim else None,
        )
