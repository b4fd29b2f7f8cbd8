"""A malt's figures are outside the plausible range.

Malt gives about 65 to 83 per cent of extract as is and holds 2 to 8 per cent of moisture. A sugar-
like extract or a figure on dry matter inflates every expected gravity.

Fix: compare with the maltster's analysis; extract is as is, coarse grind
Source: common practice, no source
Passes:
    {}
Fails:
    stock: {malts: {pale: {extract: 92 %}}}
"""

from collections.abc import Iterator

from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity
from reportgen.record.load import Archive
from reportgen.record.model.stock import Lot, Malt

GROUP = Group.MASH
SEVERITY = Severity.MINOR


def check_house(archive: Archive) -> Iterator[Remark]:
    """Look at extract and moisture of each malt and of each of its lots."""
    for name, malt in archive.stock.malts.items() if archive.stock is not None else ():
        yield from _figures(str(name), malt)
        for number, lot in malt.lots.items():
            yield from _figures(f"{name} {number}", lot)


def _figures(named: str, figures: Malt | Lot) -> Iterator[Remark]:
    extract, moisture = figures.extract, figures.moisture
    if extract is not None and not 0.45 <= extract.value <= 0.86:
        yield Remark(extract.position, f"{named}: extract {extract.text}", "65 to 83 %")
    if moisture is not None and not 0.01 <= moisture.value <= 0.14:
        yield Remark(moisture.position, f"{named}: moisture {moisture.text}", "2 to 8 %")
