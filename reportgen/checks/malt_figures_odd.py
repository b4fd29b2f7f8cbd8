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
        lot = malt.lots.get(item.lot) if item.lot is not None else None
        for one, named in ((malt, item.malt), (lot, f"{item.malt}, lot {item.lot}")):
            if one is None:
                continue
            if one.extract is not None and not 0.45 <= one.extract.value <= 0.86:
                yield Said(
                    one.extract.position, f"{named}: extract {one.extract.text}", "65 to 83 %"
                )
            if one.moisture is not None and not 0.01 <= one.moisture.value <= 0.14:
                yield Said(
                    one.moisture.position, f"{named}: moisture {one.moisture.text}", "2 to 8 %"
                )
