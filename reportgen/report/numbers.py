"""Numbers as they are printed: unit of the house, decimals, true minus sign, ±U, rounding.

Values come in base units and leave as text. A range is rounded inwards, so that a reading inside
the printed range is inside the true one.
"""

from __future__ import annotations

import math

from msgspec import Struct

from reportgen.record.kinds import KINDS
from reportgen.record.printed import (
    printed_decimals,
    printed_number,
    printed_unit,
    printed_value,
    width_kind,
)
from reportgen.record.unit_display import MINUS, fixed
from reportgen.record.unit_table import EBC_PER_SRM

__all__ = ["BLANK", "DASH", "EMPTY", "MINUS", "NARROW", "Units", "inwards", "places", "signed"]

DASH = "–"
NARROW = "\u202f"
"""Narrow no-break space, between a number and its unit."""

BLANK = "—"
"""Stands where there is no value."""

EMPTY = "none"
"""Stands for a range in which there is no value."""


def places(text: float) -> int:
    """Return the number of decimals that a step such as 0.0005, 0.5 or 20 asks for."""
    if text <= 0:
        return 0
    count = 0
    while count < 6 and abs(text * 10**count - round(text * 10**count)) > 1e-6:
        count += 1
    return count


def signed(text: str) -> str:
    """Put a plus sign before a number that has no sign and is not zero."""
    if text.startswith(MINUS) or not text.strip("0."):
        return text
    return f"+{text}"


def inwards(value: float, decimals: int, up: bool = False) -> float:
    """Round to a number of decimals towards the middle of a range: ``up`` for its lower edge.

    The slack keeps an edge that is exact in decimal writing where it is.
    """
    scale = 10.0**decimals
    scaled = value * scale
    rounded = math.ceil(scaled - 1e-6) if up else math.floor(scaled + 1e-6)
    return rounded / scale


class Units(Struct, frozen=True):
    """The units a document is printed in: ``metric``, ``US`` or ``imperial``.

    ``short`` prints gal rather than US gal, where a note on the page says which gallon it is.
    """

    system: str = "metric"
    short: bool = False

    def label(self, kind: str) -> str:
        """Return the label of the unit of a kind; empty for a plain number."""
        label = printed_unit(kind, self.system)
        return label.removeprefix("US ").removeprefix("imp ") if self.short else label

    def head(self, kind: str) -> str:
        """Return the unit for the head of a column or line: SG for a gravity."""
        return (KINDS[kind].scale if kind in KINDS else "") or self.label(kind)

    def decimals(self, kind: str, decimals: int) -> int:
        """Return the decimals to print when the base unit is printed with ``decimals``."""
        return printed_decimals(kind, self.system, decimals)

    def converted(self, value: float, kind: str) -> float:
        """Return a value of the base unit in the printed unit."""
        return printed_value(value, kind, self.system)

    def number(self, value: float, kind: str, decimals: int) -> str:
        """Return a number without its unit. ``decimals`` are those of the base unit."""
        return printed_number(value, kind, self.system, decimals)

    def text(self, value: float, kind: str, decimals: int) -> str:
        """Return a number with its unit; EBC has SRM beside it where readers count in SRM."""
        if kind == "colour" and self.system == "US":
            return f"{value:.0f}{NARROW}EBC ({value / EBC_PER_SRM:.1f}{NARROW}SRM)"
        return self.join(self.number(value, kind, decimals), kind)

    def join(self, number: str, kind: str) -> str:
        """Put the unit of a kind after a number."""
        unit = self.label(kind)
        return f"{number}{NARROW}{unit}" if unit else number

    def width(self, width: float, kind: str, decimals: int) -> str:
        """Return a difference or a U without its unit: kelvins do not have the 32 of °F."""
        return self.number(width, width_kind(kind), decimals)

    def difference(self, value: float, kind: str, decimals: int) -> str:
        """Return a difference with + or −, without its unit."""
        return signed(self.width(value, kind, decimals))

    def plus_minus(self, uncertainty: float, kind: str, decimals: int) -> str:
        """Return ±U without its unit, rounded up so that it is never printed too small."""
        width = width_kind(kind)
        shown = self.decimals(width, decimals)
        return f"±{inwards(self.converted(uncertainty, width), shown, up=True):.{shown}f}"

    def low_edge(self, low: float, kind: str, decimals: int) -> str:
        """Return the lower edge of a range without its unit, rounded inwards, as in the range."""
        shown = self.decimals(kind, decimals)
        return fixed(inwards(self.converted(low, kind), shown, up=True), shown)

    def range(self, low: float, high: float, kind: str, decimals: int) -> str:
        """Return a range without its unit, rounded inwards; one-sided where a side is infinite.

        A range that is empty after narrowing is said to be so: the instrument is too coarse.
        """
        shown = self.decimals(kind, decimals)
        if not math.isfinite(low) and not math.isfinite(high):
            return BLANK
        if not math.isfinite(high):
            return f"{self.low_edge(low, kind, decimals)} or more"
        if not math.isfinite(low):
            top = fixed(inwards(self.converted(high, kind), shown, up=False), shown)
            return f"{top} or less"
        bottom = inwards(self.converted(low, kind), shown, up=True)
        top_value = inwards(self.converted(high, kind), shown, up=False)
        if bottom > top_value:
            return EMPTY
        between = " to " if bottom < 0 else DASH
        return f"{fixed(bottom, shown)}{between}{fixed(top_value, shown)}"
