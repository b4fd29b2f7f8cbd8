"""Sheets of labels as they are sold, as data: how many, how large, where on the paper.

Sizes in millimetres, as the makers print them on the packet; common stock, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct


class LabelStock(Struct, frozen=True):
    """One kind of sheet: its paper, columns and rows, size of a label, left and top edge, pitch."""

    name: str
    paper: str
    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    across: float
    down: float

    @property
    def count(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows

    def places(self) -> Iterator[tuple[float, float]]:
        """Yield the left and top edge of each label, mm, row by row."""
        for row in range(self.rows):
            for column in range(self.columns):
                yield self.left + column * self.across, self.top + row * self.down


STOCKS = {
    stock.name: stock
    for stock in (
        LabelStock("99x68", "A4", 2, 4, 99.1, 67.7, 4.65, 13.1, 101.7, 67.7),
        LabelStock("99x38", "A4", 2, 7, 99.1, 38.1, 4.65, 15.15, 101.7, 38.1),
        LabelStock("64x34", "A4", 3, 8, 64.0, 33.9, 6.45, 12.9, 66.5, 33.9),
        LabelStock("105x148", "A4", 2, 2, 105.0, 148.5, 0.0, 0.0, 105.0, 148.5),
        LabelStock("4x2in", "Letter", 2, 5, 101.6, 50.8, 4.0, 12.7, 106.4, 50.8),
        LabelStock("4x3.3in", "Letter", 2, 3, 101.6, 84.7, 4.0, 12.7, 106.4, 84.7),
        LabelStock("5.5x8.5in", "Letter", 1, 2, 215.9, 139.7, 0.0, 0.0, 215.9, 139.7),
    )
}
"""By name: width by height. The largest of each paper is for the collar of a keg."""
