"""The kettle has no room for foam.

Wort foams up when it comes to the boil and when hops go in, and what boils over scalds. The kettle
needs room above the wort, and more of it with a strong wort or a strong burner.

Fix: start the boil with less wort, and add the rest as it boils down
Source: common practice, no source
Passes:
    plan: {fermenter_volume: 40 L}
Fails:
    plan: {fermenter_volume: 50 L}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import volume

GROUP = Group.BOIL
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "above the brim"}
UNTIL = Stage.BOIL


def check(batch: Assessment) -> Remarks:
    """Compare kettle full with the brim."""
    full = batch.planned.expected.get("kettle_volume")
    if full is None or full.value <= 0.85 * batch.case.kettle_brim:
        return
    over = full.value > batch.case.kettle_brim
    yield Remark(
        batch.record.plan.fermenter_volume.position,
        f"the kettle is full to {full.value / batch.case.kettle_brim:.0%} before the boil",
        f"at most 85 % of the {volume(batch.case.kettle_brim, batch)}",
        severity=Severity.MAJOR if over else None,
    )
