"""A malt's figures are outside the plausible range.

Malt gives about 65 to 80 per cent of extract, coarsely ground and as is, and holds 2 to 8 per cent of
moisture. A certificate mostly states the fine grind on dry matter, which is some five points more: typed
as if it were as is, it inflates every expected gravity. A pale malt as dark as a roasted one, or the
other way round, has a unit or a decimal point too many, or the wrong class;
so has a lot that is five times as dark as its malt.

Fix: compare with the maltster's analysis; write `extract_basis` as the certificate states it
Source: two-row malt 81.4 to 82.6 % fine and dry, 77.5 to 78.7 % coarse as is, Master Brewers Association,
    malt seminar; the limits: common practice, no source
Passes:
    stock: {malts: {pale: {extract: 81.8 %, extract_basis: fine_dry}}}
Fails:
    stock: {malts: {pale: {extract: 81.8 %}}}
"""

from collections.abc import Iterator, Sequence

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told
from reportgen.checks.slip_undone import COMES_OF_IT, follows_each
from reportgen.forecast.materials import extract_of
from reportgen.record.finding import Finding
from reportgen.record.load import Archive
from reportgen.record.model.stock import Lot, Malt
from reportgen.record.units import Quantity
from reportgen.science.number import nominal

GROUP = Group.MASH
SEVERITY = Severity.MINOR
ALSO = COMES_OF_IT

MOST_BARLEY = 0.805
"""Coarse as is; of the best barley malts, which have 84 % fine and dry."""
COLOURS = {
    "pilsner": (1.0, 25.0), "pale": (2.0, 90.0), "wheat": (1.0, 90.0), "munich": (6.0, 200.0),
    "crystal": (2.0, 600.0), "roasted": (20.0, 2500.0),
}  # fmt: skip
"""EBC that malts of a class have. Wide: amber malt may be written as pale, a dextrin malt is a crystal
malt without colour. An adjunct may have any."""
APART = 5.0
"""Times that the colour of a lot may be that of its malt, or one part of."""
PALEST, DARKEST = 0.5, 2500.0
"""EBC of any malt."""
BARLEY = ("pale", "pilsner", "munich", "crystal", "roasted", "acidulated")


def check_house(archive: Archive) -> Remarks:
    """Look at extract, moisture and colour of each malt and of each of its lots."""
    for name, malt in archive.stock.malts.items() if archive.stock is not None else ():
        yield from _of_malt(str(name), malt)


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Return what is said of the batch's malts, with what follows from each in the record."""
    return follows_each(batch, findings, told, _of_malt, batch.stock.malts)


def _of_malt(name: str, malt: Malt) -> Remarks:
    coloured = [lot for lot in malt.lots.values() if lot.colour is not None]
    low, high = COLOURS.get(str(malt.malt_class), (PALEST, DARKEST))
    far = [
        lot for lot in coloured
        if lot.colour is not None and low <= malt.colour.value <= high
        and low <= lot.colour.value <= high and _is_far(lot.colour, malt.colour)
    ]
    if len(far) > 1 and far == coloured:
        # All of its lots are against the malt: it is the malt's own figure.
        said = ", ".join(lot.colour.text for lot in far if lot.colour is not None)
        yield Remark(
            malt.colour.position, f"{name}: colour {malt.colour.text}, its lots have {said}",
            "a colour near that of its lots",
        )
        far = []
    yield from _figures(name, malt, None)
    for number, lot in malt.lots.items():
        yield from _figures(f"{name} {number}", malt, lot)
        if lot in far and lot.colour is not None:
            yield Remark(
                lot.colour.position,
                f"{name} {number}: colour {lot.colour.text} for a malt of {malt.colour.text}",
                "a colour near that of the malt",
            )


def _is_far(colour: Quantity, other: Quantity) -> bool:
    return not other.value / APART <= colour.value <= other.value * APART


def _figures(named: str, malt: Malt, lot: Lot | None) -> Remarks:
    figures = malt if lot is None else lot
    moisture, stated = figures.moisture, figures.extract
    if stated is not None:
        counted = nominal(extract_of(malt, lot))
        most = MOST_BARLEY if malt.malt_class in BARLEY else 0.86
        if not 0.45 <= counted <= most:
            basis = str(figures.extract_basis or malt.extract_basis or "coarse_as_is")
            yield Remark(
                stated.position,
                f"{named}: extract {stated.text}, {basis.replace('_', ' ')}",
                f"65 to {100 * most:.0f} % coarse as is",
            )
    if moisture is not None and not 0.01 <= moisture.value <= 0.14:
        yield Remark(moisture.position, f"{named}: moisture {moisture.text}", "2 to 8 %")
    low, high = COLOURS.get(str(malt.malt_class), (PALEST, DARKEST))
    colour = figures.colour
    if colour is not None and not low <= colour.value <= high:
        yield Remark(
            colour.position,
            f"{named}: colour {colour.text} for a malt of the class {malt.malt_class}",
            f"{low:g} to {high:g} EBC",
        )
