"""The plan was changed after the sheet was printed.

The sheet carries the hash of the plan that it was printed from, and the record repeats it. When
they differ, the readings were made against other numbers than those the record now shows. Where
the archive is kept in git, the plan that the sheet was printed from is looked for there, and what
was changed is listed value by value.

Fix: restore the plan, or raise its revision and print and issue the sheet again
Source: 21 CFR 211.188: the record reproduces the master that was issued
Passes:
    {}
Fails:
    issued: {plan: 00000000, copy: 1}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment, PlanThen
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.RECORD
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the issued hash with the plan's."""
    issued, now = batch.record.issued, batch.batch.plan_hash
    if issued is not None and str(issued.plan) != now:
        said = f"the sheet was printed from plan {issued.plan}, the plan is now {now}"
        more = f"; {_what(batch.plan_then)}" if batch.plan_then is not None else ""
        yield Remark(issued.plan.position, said + more, now)


def _what(then: PlanThen) -> str:
    """Say what was changed, or why that cannot be told."""
    if then.why_not:
        return f"the change cannot be shown: {then.why_not}"
    if not then.changes:
        # What stands above the values: its number, its author, the batch that it starts from.
        return f"every value is as in revision {then.revision} of {then.day}"
    told = "; ".join(f"{c.place}: {c.before or BLANK} → {c.after or BLANK}" for c in then.changes)
    return f"changed since revision {then.revision} of {then.day}: {told}"


BLANK = "(none)"
