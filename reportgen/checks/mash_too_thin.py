"""The mash is thinner than enzymes like.

Above about 5 litres for each kilogram the enzymes are dilute and lost sooner, and the pH follows
the liquor rather than the malt. A full-volume mash without sparge is thin on purpose and reaches 8.

Mend: use less mash liquor and more sparge, unless nothing is sparged
Source: common practice, no source
Passes:
    plan: {liquor: {mash_volume: 20 L}}
Fails:
    plan: {liquor: {mash_volume: 28 L}, grist: [{malt: pale, amount: 5 kg}]}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity
from reportgen.science.number import nominal

GROUP = Group.KIT
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Said]:
    """Look at the thickness of the mash."""
    ratio = nominal(batch.case.mash_liquor / batch.case.grist)
    most = 8.0 if batch.case.sparge in ("none", "bag") else 5.0
    if ratio > most:
        yield Said(
            batch.record.plan.liquor.mash_volume.position,
            f"{ratio:.2f} L of liquor for each kg of grist",
            f"at most {most:g} L/kg",
        )
