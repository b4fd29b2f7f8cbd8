"""The plan no longer gives the numbers that its sheet was printed with.

The sheet's `numbers` are a hash of all expected values and limits. The plan is the one issued, so
a value of brewery.yaml or stock.yaml was changed without its day, or this version of the tool
computes differently. If the archive is kept in git, the changed values are named, and the
verdicts stay those of the sheet. If not, the record shows other numbers than the paper, and says
it.

Fix: write what was changed under `since` with its day, so that earlier batches keep theirs
Source: 21 CFR 211.188(a): the record reproduces the master that was issued
Passes:
    {}
Fails:
    issued: {plan: 7045a6d6, numbers: 00000000}
"""

from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.plan_changed_since_issued import mistyped_hash

GROUP = Group.RECORD
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Compare the issued numbers with those that the plan gives now."""
    issued = batch.record.issued
    if issued is None or issued.numbers is None or str(issued.plan) != batch.batch.plan_hash:
        # Another plan gives other numbers: plan-changed-since-issued says so.
        return
    now = batch.house_then.numbers if batch.house_then is not None else numbers_hash(batch)
    if slip := mistyped_hash(str(issued.numbers), now):
        yield Remark(issued.numbers.position, f"`{issued.numbers}` is nearly their hash", now, slip)
    elif str(issued.numbers) != now:
        said = f"the sheet was printed with numbers {issued.numbers}, the same plan now gives {now}"
        yield Remark(issued.numbers.position, said + _what(batch), now)


def _what(batch: Assessment) -> str:
    then = batch.house_then
    if then is None:
        return ""
    if then.why_not:
        return f"; {then.why_not}"
    told = "; ".join(f"{c.place}: {c.before or '(none)'} → {c.after or '(none)'}"
                     for c in then.changes)
    return (
        f"; the record goes by brewery and stock of revision {then.revision} of {then.day}, "
        f"changed since: {told}"
    )
