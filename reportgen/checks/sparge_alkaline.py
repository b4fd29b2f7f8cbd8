"""The sparge liquor is alkaline, without acid or with too little.

As the wort is washed out, the buffering of the grain goes with it. Alkaline liquor then raises
the pH of the last runnings. Above 5.8 to 6 they extract tannin.

Fix: treat the sparge liquor with acid, or stop the sparge earlier
Source: common practice, no source
Passes:
    {}
Fails:
    brewery: {liquors: {reservoir: {bicarbonate: 300 mg/L}}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.RUN_OFF
SEVERITY = Severity.NOTE
UNTIL = Stage.RUN_OFF

HIGHEST = 6.0
"""A sparge liquor read no higher has its acid."""


def check(batch: Assessment) -> Remarks:
    """Look at the alkalinity of the sparge liquor."""
    alkalinity = batch.planned.expected.get("sparge_liquor_alkalinity")
    left = batch.planned.expected.get("sparge_alkalinity_left", alkalinity)
    read = batch.actuals.get("sparge_ph")
    if read is not None and read.value is not None and read.value <= HIGHEST:
        return
    if left is not None and left.value > 100:
        how = "and no acid" if left is alkalinity else "left after its acid"
        yield Remark(
            batch.record.plan.liquor.position,
            f"sparge liquor with {left.value:.0f} mg/L of alkalinity {how}",
            "at most 100 mg/L as CaCO3",
        )
