"""A salt dose looks like a slip of the unit.

More than 3 grams of any salt in a litre is far beyond brewing use. Usually kilograms were written
for grams, or the decimal point slipped.

Fix: check the unit and the decimal point of the dose
Source: common practice, no source
Passes:
    {}
Fails:
    plan: {liquor: {salts: [{salt: calcium_chloride, amount: 0.3 kg, to: mash}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.science.number import nominal

GROUP = Group.LIQUOR
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Remarks:
    """Look at the strength of each salt dose."""
    total = {"mash": nominal(batch.case.mash_liquor), "kettle": batch.case.volume}
    sparge = batch.planned.expected.get("sparge_liquor")
    total["sparge"] = sparge.value if sparge is not None else 0.0
    for item, dose in zip(batch.record.plan.liquor.salts, batch.case.salts, strict=True):
        volume = total[dose.to]
        if volume > 0 and nominal(dose.grams) / volume > 3.0:
            yield Remark(
                item.amount.position,
                f"{nominal(dose.grams) / volume:.1f} g of {item.salt} for each litre",
                "at most 3 g/L",
            )
