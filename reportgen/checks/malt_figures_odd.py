"""A malt's figures are out of reason.

Malt gives about 65 to 83 per cent of extract as is and holds 2 to 8 per cent of moisture. A sugar-
like extract or a figure on dry matter inflates every expected gravity.

Mend: compare with the maltster's analysis; extract is as is, coarse grind
Source: common practice, no source
Passes:
    {}
Fails:
    stock: {malts: {pale: {extract: 92 %}}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Look at extract and moisture of each malt used."""
    for item in batch.record.plan.grist:
        malt = batch.stock.malts[item.malt]
        if not 0.45 <= malt.extract.value <= 0.86:
            yield Said(
                malt.extract.position, f"{item.malt}: extract {malt.extract.text}", "65 to 83 %"
            )
        if malt.moisture is not None and not 0.01 <= malt.moisture.value <= 0.14:
            yield Said(
                malt.moisture.position, f"{item.malt}: moisture {malt.moisture.text}", "2 to 8 %"
            )
