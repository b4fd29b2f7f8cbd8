"""The sparge liquor is alkaline and untreated.

As the wort is washed out, the buffering of the grain goes with it and alkaline liquor drives the pH
of the last runnings up. Above 5.8 to 6 they draw tannin.

Fix: treat the sparge liquor with acid, or stop the sparge earlier
Source: common practice, no source
Passes:
    {}
Fails:
    brewery: {liquors: {reservoir: {bicarbonate: 300 mg/L}}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.forecast.figures import Stage
from reportgen.record.finding import Severity

GROUP = Group.WISE
SEVERITY = Severity.NOTE
UNTIL = Stage.RUN_OFF


def check(batch: Assessment) -> Iterator[Remark]:
    """Look at the alkalinity of the sparge liquor."""
    alkalinity = batch.planned.expected.get("sparge_liquor_alkalinity")
    treated = any(dose.to == "sparge" for dose in batch.case.acids)
    if alkalinity is not None and alkalinity.value > 100 and not treated:
        yield Remark(
            batch.record.plan.liquor.position,
            f"sparge liquor with {alkalinity.value:.0f} mg/L of alkalinity and no acid",
            "at most 100 mg/L as CaCO3",
        )
