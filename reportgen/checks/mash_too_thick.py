"""The mash is too thick to mix.

Below about 1.8 litres for each kilogram, dry lumps stay in the mash and their extract is lost;
below 1.2 it cannot be stirred at all.

Fix: use more mash liquor
Source: common practice, no source
Passes:
    plan: {liquor: {mash_liquor: 20 L}}
Fails:
    plan: {liquor: {mash_liquor: 12 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import quantity
from reportgen.science.number import nominal

GROUP = Group.MASH
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "below 1.2 L/kg"}
UNTIL = Stage.MASH


def check(batch: Assessment) -> Remarks:
    """Look at the thickness of the mash."""
    if not batch.case.is_mashed:
        return
    ratio = nominal(batch.case.mash_liquor / batch.case.grist)
    if ratio < 1.8:
        least, low, high = (quantity(v, "specific_volume", 1, batch) for v in (1.8, 2.3, 4.0))
        yield Remark(
            batch.record.plan.liquor.mash_liquor_at,
            f"liquor to grist of {quantity(ratio, 'specific_volume', 2, batch)}",
            f"at least {least}, usually {low} to {high}",
            severity=Severity.MAJOR if ratio < 1.2 else None,
        )
