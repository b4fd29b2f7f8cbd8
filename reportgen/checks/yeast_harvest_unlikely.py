"""An unlikely amount of yeast was harvested.

A fermenter settles one to five litres of slurry for each 100 litres of beer.

Fix: compare with the cellar sheet, and correct the number or its unit
Source: common practice, no source
Passes:
    brew_day: {date: 2026-03-14}
    fermentation: {harvest: {at: 2026-03-22 10:00, amount: 1.2 L}}
Fails:
    brew_day: {date: 2026-03-14}
    fermentation: {harvest: {at: 2026-03-22 10:00, amount: 12 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume
from reportgen.checks.yeast_cells_odd import LIKELY

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR

LEAST, MOST = 0.0005, 0.25
"""Slurry as a share of the wort."""


def check(batch: Assessment) -> Remarks:
    """Compare the amount that was harvested with the wort."""
    harvest = batch.record.harvest
    if harvest is None:
        return
    amount, wort = harvest.amount, batch.case.kept_volume
    low, high = LIKELY["slurry"]
    if harvest.cells is not None and not low <= harvest.cells.value <= high:
        yield Remark(
            harvest.cells.position, f"`{harvest.cells.text}` is an unlikely count of cells in a harvest",
            f"{low:g} to {high:g} billion in a mL or a g",
        )  # fmt: skip
    # A gram of slurry is about a millilitre.
    if amount is not None and wort > 0 and not LEAST * wort <= amount.value <= MOST * wort:
        yield Remark(
            amount.position,
            f"{amount.text} of yeast from {volume(wort, batch)} of wort",
            f"{volume(LEAST * wort, batch, 2)} to {volume(MOST * wort, batch)}",
        )
