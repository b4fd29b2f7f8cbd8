"""A water analysis does not balance.

Positive and negative charges of a water are equal. A large difference means that an ion is missing,
mistyped or in another unit: alkalinity as CaCO3 for bicarbonate, nitrate as nitrogen.

Fix: compare with the laboratory's report; check the unit of the alkalinity
Source: Standard Methods 1030E; warning beyond 10 %
Passes:
    {}
Fails:
    brewery: {liquors: {reservoir: {calcium: 120 mg/L}}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.forecast.resolve import ions_of
from reportgen.science.water import ion_balance

GROUP = Group.LIQUOR
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "the charges differ by more than 20 %"}


def check(batch: Assessment) -> Remarks:
    """Compute the ion balance of each liquor used."""
    for part in batch.record.plan.liquor.blend:
        liquor = batch.brewery.liquors[part.liquor]
        ions, alkalinity = ions_of(liquor)
        if max(ions.values()) == 0:
            continue
        off = float(ion_balance({**ions, "alkalinity": alkalinity}))
        if abs(off) > 10:
            yield Remark(
                liquor.position,
                f"{part.liquor}: charges differ by {off:+.0f} %",
                "within 5 %",
                severity=Severity.MINOR if abs(off) > 20 else None,
            )
