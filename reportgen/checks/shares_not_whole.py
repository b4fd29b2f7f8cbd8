"""The shares of the blend do not add up to the whole.

The ions of a blend follow from the shares. They are taken as parts of their sum, which may not be
what was meant.

Fix: make the shares add up to 100 %
Source: arithmetic
Passes:
    {}
Fails:
    plan: {liquor: {blend: [{liquor: reservoir, share: 80 %}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.STORE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Add up the shares."""
    blend = batch.record.plan.liquor.blend
    total = sum(part.share.value for part in blend)
    if blend and abs(total - 1.0) > 0.005:
        yield Remark(blend[0].share.position, f"the shares add up to {total:.0%}", "100 %")
