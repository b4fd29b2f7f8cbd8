"""A hop addition to the boil has no time.

Without a time before the end of the boil the bitterness cannot be computed; it is counted as added
at the end.

Fix: write the minutes before the end of the boil
Source: the record's format
Passes:
    {}
Fails:
    plan: {boil: {time: 60 min, hops: [{hop: goldings, amount: 60 g}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.BOIL
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for additions without a time."""
    for item in batch.record.plan.boil.hops:
        if item.time is None:
            yield Remark(item.hop.position, f"{item.amount.text} of {item.hop} without a time")
