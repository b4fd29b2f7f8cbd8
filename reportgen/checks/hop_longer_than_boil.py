"""A hop addition is longer than the boil.

The forecast counts such hops from the start of the boil. Hops put into the run-off are a choice;
otherwise one of the two times is a slip.

Fix: make the boil longer, or the addition later
Source: arithmetic
Passes:
    {}
Fails:
    plan: {boil: {time: 60 min, hops: [{hop: goldings, amount: 60 g, time: 75 min}]}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.BOIL
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare each addition with the boil."""
    boil = batch.record.plan.boil
    for item in boil.hops:
        if item.time is not None and item.time.value > boil.time.value:
            yield Remark(
                item.time.position,
                f"{item.hop} for {item.time.text} in a boil of {boil.time.text}",
                f"at most {boil.time.text}",
            )
