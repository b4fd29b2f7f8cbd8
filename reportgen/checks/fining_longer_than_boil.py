"""A fining is added before the boil begins.

Kettle finings work in the last quarter of an hour of the boil. A time longer than the boil belongs
to another boil, or one of the two times is wrong.

Fix: correct the time of the fining, or of the boil
Source: arithmetic
Passes:
    {}
Fails:
    plan: {boil: {time: 60 min, finings: [{fining: carrageenan, amount: 3 g, time: 90 min}]}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.BOIL
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the time of each kettle fining with the boil."""
    boil = batch.record.plan.boil
    for item in boil.finings:
        if item.time is not None and item.time.value > boil.time.value:
            yield Remark(
                item.time.position,
                f"{item.fining} at {item.time.text} of a boil of {boil.time.text}",
                f"at most {boil.time.text}",
            )
