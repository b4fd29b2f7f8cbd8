"""Calcium in the mash liquor is low or high.

Calcium protects the enzymes, lowers the mash pH and lets break and yeast settle. Below 50 mg/L that
is weak; above 200 there is little more to gain and the beer turns minerally. Grain that is only
steeped has no enzymes to protect.

Fix: change the gypsum or calcium chloride in the mash liquor
Source: D.G. Taylor 1990, MBAA Tech. Q.: 100 to 200 mg/L in mash liquor; lower limits common
    practice
Passes:
    plan: {liquor: {mash_liquor: 20 L}}
Fails:
    plan: {liquor: {salts: []}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.LIQUOR
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "below 20 or above 300 mg/L"}
UNTIL = Stage.MASH


def check(batch: Assessment) -> Remarks:
    """Look at the calcium of the treated mash liquor."""
    expected = batch.planned.expected.get("mash_liquor_calcium")
    if batch.brewed.is_steeped or expected is None or 50 <= expected.value <= 200:
        return
    severity = Severity.MINOR if expected.value < 20 or expected.value > 300 else None
    yield Remark(
        batch.record.plan.liquor.position,
        f"{expected.value:.0f} mg/L of calcium in the mash liquor",
        "50 to 200 mg/L",
        severity=severity,
    )
