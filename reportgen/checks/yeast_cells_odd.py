"""An unlikely count of yeast cells.

A gram of dry yeast holds 8 to 18 billion cells, a mL of settled slurry 0.5 to 3 billion, a mL of
starter 0.1 billion. With a count in the wrong unit, the amount to pitch is wrong by the same
factor. Dry yeast is counted per gram, liquid yeast per mL.

Fix: compare with the count or the pack, and its unit
Source: dry yeast, S. Van Den Berg and A. Van Landschoot 2003, Cerevisia 28(3):25; the limits: common
    practice, no source
Passes:
    stock: {yeasts: {ale: {cells: {slurry: 1.2 billion/mL, dry: 12 billion/g}}}}
Fails:
    stock: {yeasts: {ale: {cells: {slurry: 12 billion/mL}}}}
"""

from collections.abc import Iterator, Sequence

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told
from reportgen.checks.slip_undone import COMES_OF_IT, follows_each
from reportgen.record.finding import Finding
from reportgen.record.load import Archive
from reportgen.record.model.stock import FORMS, Yeast
from reportgen.record.quantity import Quantity

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
ALSO = COMES_OF_IT

LIKELY = {
    "dry": (2.0, 40.0), "slurry": (0.1, 6.0), "liquid": (0.02, 8.0), "starter": (0.005, 1.0),
    "slope": (0.005, 1.0),
}  # fmt: skip
"""Billion cells in a g of dry yeast, else in a mL."""


def check_house(archive: Archive) -> Remarks:
    """Look at the cells of each yeast and of each of its lots."""
    for name, yeast in archive.stock.yeasts.items() if archive.stock is not None else ():
        yield from _of_yeast(str(name), yeast)


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Return what is said of the batch's yeast, with what follows from each in the record."""
    return follows_each(batch, findings, told, _of_yeast, batch.stock.yeasts)


def _of_yeast(name: str, yeast: Yeast) -> Remarks:
    for form in FORMS:
        stated = getattr(yeast.cells, form, None) if yeast.cells is not None else None
        yield from _cells(name, form, stated)
    for number, lot in yeast.lots.items():
        form = str(lot.form or yeast.form or "slurry")
        yield from _cells(f"{name} {number}", form, lot.cells)


def _cells(named: str, form: str, stated: Quantity | None) -> Remarks:
    if stated is None:
        return
    low, high = LIKELY[form]
    by_weight = stated.unit.endswith("/g")
    unit = "billion/g" if form == "dry" else "billion/mL"
    is_sound = by_weight == (form == "dry") or (form == "slurry" and by_weight)
    if not is_sound or not low <= stated.value <= high:
        yield Remark(
            stated.position, f"{named}: `{stated.text}` of cells, {form}",
            f"{low:g} to {high:g} {unit}",
        )  # fmt: skip
