"""Numbers as they are printed: unit of the house, decimals, true minus sign, ±U, rounding.

Values come in base units and leave as text. A range is rounded inwards, so that a reading inside
the printed range is inside the true one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from reportgen.record.unit_table import EBC_PER_SRM
from reportgen.record.units import display_unit, format_quantity, to_display

MINUS = "\u2212"
"""The true minus sign, as wide as a plus."""

DASH = "–"
NARROW = "\u202f"
"""Narrow no-break space, between a number and its unit."""

BLANK = "—"
"""Stands where there is no value."""

_SMALL = {"small_volume": "volume", "small_mass": "mass"}
"""Kinds of a table cell that ask for the small unit: mL rather than L, g rather than kg."""

_SHIFT = {
    ("volume", "US"): 1,
    ("volume", "imperial"): 1,
    ("small_mass", "US"): 1,
    ("small_mass", "imperial"): 1,
    ("pressure", "US"): -1,
    ("pressure", "imperial"): -1,
    ("evaporation", "US"): 1,
    ("evaporation", "imperial"): 1,
}
"""Decimals more or fewer than in the base unit, where the printed unit is larger or smaller."""

_PLAIN = {"ph", "ratio", "count", "gravity_step", ""}
_DIFFERENCE = {"temperature": "temperature_difference"}


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


def _fixed(value: float, decimals: int) -> str:
    shown = f"{value:.{decimals}f}"
    if shown.startswith("-"):
        return shown[1:] if float(shown) == 0 else MINUS + shown[1:]
    return shown


def _inwards(value: float, decimals: int, up: bool) -> float:
    """Round to a number of decimals towards the middle of a range.

    The slack keeps an edge that is exact in decimal writing where it is.
    """
    scale = 10.0**decimals
    scaled = value * scale
    rounded = math.ceil(scaled - 1e-6) if up else math.floor(scaled + 1e-6)
    return rounded / scale


@dataclass(frozen=True)
class Units:
    """The units a document is printed in: ``metric``, ``US`` or ``imperial``.

    ``short`` prints gal rather than US gal, where a note on the page says which gallon it is.
    Millilitres stay millilitres everywhere: nobody doses acid in fluid ounces.
    """

    system: str = "metric"
    short: bool = False

    def label(self, kind: str) -> str:
        """Return the label of the unit of a kind; empty for a plain number."""
        if kind == "gravity" or kind in _PLAIN:
            return ""
        if kind == "colour":
            return "EBC"
        label = display_unit(_SMALL.get(kind, kind), self._of(kind), kind in _SMALL)
        return label.removeprefix("US ").removeprefix("imp ") if self.short else label

    def _of(self, kind: str) -> str:
        return "metric" if kind == "small_volume" else self.system

    def decimals(self, kind: str, decimals: int) -> int:
        """Return the decimals to print when the base unit is printed with ``decimals``."""
        if kind == "fraction":
            return max(0, decimals - 2)
        return max(0, decimals + _SHIFT.get((kind, self.system), 0))

    def converted(self, value: float, kind: str) -> float:
        """Return a value of the base unit in the printed unit."""
        if kind in ("gravity", "colour") or kind in _PLAIN:
            return value
        return float(to_display(value, _SMALL.get(kind, kind), self._of(kind), kind in _SMALL))

    def number(self, value: float, kind: str, decimals: int) -> str:
        """Return a number without its unit. ``decimals`` are those of the base unit."""
        if kind == "colour" or kind in _PLAIN:
            return _fixed(value, decimals)
        shown = self.decimals(kind, decimals)
        return format_quantity(
            value, _SMALL.get(kind, kind), self._of(kind), shown, kind in _SMALL
        )

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
        return self.number(width, _DIFFERENCE.get(kind, kind), decimals)

    def difference(self, value: float, kind: str, decimals: int) -> str:
        """Return a difference with + or −, without its unit."""
        return signed(self.width(value, kind, decimals))

    def plus_minus(self, uncertainty: float, kind: str, decimals: int) -> str:
        """Return ±U without its unit, rounded up so that it is never printed too small."""
        width = _DIFFERENCE.get(kind, kind)
        shown = self.decimals(width, decimals)
        return f"±{_inwards(self.converted(uncertainty, width), shown, up=True):.{shown}f}"

    def range(self, low: float, high: float, kind: str, decimals: int) -> str:
        """Return a range without its unit, rounded inwards; one-sided where a side is infinite.

        A range that is empty after narrowing is said to be so: the instrument is too coarse.
        """
        shown = self.decimals(kind, decimals)
        if not math.isfinite(low) and not math.isfinite(high):
            return BLANK
        if not math.isfinite(high):
            return f"{_fixed(_inwards(self.converted(low, kind), shown, up=True), shown)} or more"
        if not math.isfinite(low):
            top = _fixed(_inwards(self.converted(high, kind), shown, up=False), shown)
            return f"{top} or less"
        bottom = _inwards(self.converted(low, kind), shown, up=True)
        top_value = _inwards(self.converted(high, kind), shown, up=False)
        if bottom > top_value:
            return "none"
        between = " to " if bottom < 0 else DASH
        return f"{_fixed(bottom, shown)}{between}{_fixed(top_value, shown)}"
