"""The mash is too thin for the enzymes.

A thin mash avoids over-sparging a small beer, and a full-volume mash reaches eight litres for
each kilogram. Beyond that the enzymes are dilute and lost sooner, and the pH follows the liquor
rather than the malt. Grain that is only steeped has nothing to convert and is not judged.

Fix: use less mash liquor, and put the rest straight into the kettle
Source: common practice, no source
Passes:
    plan: {liquor: {mash_liquor: 20 L}}
Fails:
    plan: {liquor: {mash_liquor: 42 L}, grist: [{malt: pale, amount: 5 kg}]}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import quantity
from reportgen.science.number import nominal

GROUP = Group.MASH
SEVERITY = Severity.NOTE
UNTIL = Stage.MASH
MOST = 8.0


def check(batch: Assessment) -> Remarks:
    """Look at the thickness of the mash."""
    if not batch.case.is_mashed or batch.case.is_steeped:
        return
    ratio = nominal(batch.case.mash_liquor / batch.case.grist)
    if ratio > MOST:
        yield Remark(
            batch.record.plan.liquor.mash_liquor_at,
            f"liquor to grist of {quantity(ratio, 'specific_volume', 2, batch)}",
            f"at most {quantity(MOST, 'specific_volume', 1, batch)}",
        )
