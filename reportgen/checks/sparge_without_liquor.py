"""A sparge is planned but no liquor is left for it.

The mash liquor alone fills the kettle, so the planned sparge would rinse the grain with nothing.
The extract held in the grain stays there and the gravity will be lower than it could be.

Fix: use less mash liquor, or plan the run-off without sparge
Source: balance of liquor
Passes:
    plan: {liquor: {mash_liquor: 20 L}}
Fails:
    plan: {fermenter_volume: 10 L, grist: [{malt: pale, amount: 2.5 kg}], liquor: {mash_liquor: 22 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.RUN_OFF
SEVERITY = Severity.MINOR
UNTIL = Stage.RUN_OFF


def check(batch: Assessment) -> Remarks:
    """Compare liquor and kettle full."""
    if batch.case.sparge == "bag" or not batch.case.rinses:
        return
    sparge = batch.planned.expected.get("sparge_liquor")
    if sparge is not None and sparge.value <= 0:
        yield Remark(
            batch.record.plan.liquor.mash_liquor_at,
            "the mash liquor fills the kettle by itself",
            "some liquor for the sparge",
        )
