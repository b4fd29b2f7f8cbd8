"""The plan was changed after the sheet was printed.

The sheet carries the hash of the plan that it was printed from, and the record repeats it. When
they differ, the readings were made against other numbers than those the record now shows.

Mend: restore the plan, or raise its revision and print and issue the sheet again
Source: 21 CFR 211.188: the record reproduces the master that was issued
Passes:
    {}
Fails:
    issued: {plan: 00000000, copy: 1}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TOGETHER
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare the issued hash with the plan's."""
    issued = batch.record.issued
    if issued is not None and str(issued.plan) != batch.batch.plan_hash:
        yield Said(
            issued.plan.position,
            f"the sheet was printed from plan {issued.plan}, the plan is now {batch.batch.plan_hash}",
            batch.batch.plan_hash,
        )
