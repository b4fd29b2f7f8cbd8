"""Numbers as they are printed: unit of the house, decimals, true minus sign, ±U, rounding.

Documents and checks go by the same rules. Values come in the base unit of their kind and leave as
text; ``decimals`` are those that would stand in the base unit. A kind ``small_mass`` or
``small_volume`` asks for the small unit, grams rather than kilograms; millilitres stay millilitres
everywhere, since nobody doses acid in fluid ounces. ``jug_volume`` is what is poured from a jug:
quarts or imperial pints, in quarters, where the house has gallons. Colour is told in EBC
everywhere. A range is rounded inwards, so that a reading inside the printed range is inside the
true one.
"""

from __future__ import annotations

import math
import re

from msgspec import Struct

from reportgen.record.kinds import KINDS
from reportgen.record.unit_names import find_unit
from reportgen.record.unit_table import BASE, EBC_PER_SRM

MINUS = "\u2212"
"""The true minus sign, as wide as a plus."""

DASH = "–"
NARROW = "\u202f"
"""Narrow no-break space, between a number and its unit."""

BLANK = "—"
"""Stands where there is no value."""

EMPTY = "none"
"""Stands for a range in which there is no value."""

_METRIC = {
    **BASE, "fraction": "%", "alpha": "%", "temperature": "C",
    "small_volume": "mL", "small_mass": "g", "jug_volume": "L",
    **dict.fromkeys(("ph", "ratio", "count", "gravity", "gravity_step", ""), ""),
}  # fmt: skip
_US = {
    **_METRIC, "volume": "US gal", "mass": "lb", "temperature": "F", "temperature_difference": "F",
    "pressure": "psi", "concentration": "ppm", "length": "ft", "evaporation": "US gal/h",
    "specific_volume": "US qt/lb", "heat_capacity": "BTU/F", "energy": "BTU",
    "small_mass": "oz", "jug_volume": "US qt",
}  # fmt: skip
_IMPERIAL = {
    **_METRIC, "volume": "imp gal", "mass": "lb", "pressure": "psi", "length": "ft",
    "evaporation": "imp gal/h", "specific_volume": "imp pt/lb",
    "small_mass": "oz", "jug_volume": "imp pt",
}  # fmt: skip
_SYSTEMS = {"metric": _METRIC, "US": _US, "imperial": _IMPERIAL}
"""The unit that each kind is told in, by the system of units; empty for a plain number."""

_LABELS = {"C": "°C", "F": "°F"}
_READ_AS = {"small_volume": "volume", "small_mass": "mass", "jug_volume": "volume"}

_SHIFT = {"volume": 1, "small_mass": 1, "evaporation": 1, "pressure": -1}
"""Decimals more or fewer where the unit of the house is larger or smaller than the base unit."""

_JUG_STEP = 0.25


def convert(value: float, kind: str, unit: str) -> float:
    """Return a value of the base unit in another unit of the same kind.

    Raises :class:`UnitError` when the unit is none of that kind. Gravities are not converted from
    one scale to another; that is a matter of science, not of units.
    """
    row = find_unit(unit, "1", unit, kind, None)
    return value / row.factor - row.offset


def fixed(value: float, decimals: int) -> str:
    """Return a number with a fixed number of decimals, a true minus sign, no negative zero."""
    shown = f"{value:.{decimals}f}"
    if shown.startswith("-"):
        return shown[1:] if float(shown) == 0 else MINUS + shown[1:]
    return shown


_AMOUNT = re.compile(r"([0-9]+(?:\.[0-9]+)?)(?: to ([0-9]+(?:\.[0-9]+)?))? (C|L|kg|g|bar)\b")
_OF_UNIT = {"C": ("temperature", 1), "L": ("volume", 1), "kg": ("mass", 1),
            "g": ("small_mass", 0.001), "bar": ("pressure", 1)}  # fmt: skip


def in_units_of(system: str, text: str) -> str:
    """Return a text with its metric examples as a house types them: ``98 C`` as ``208 F``."""
    if system == "metric":
        return text

    def typed(amount: re.Match[str]) -> str:
        kind, factor = _OF_UNIT[amount[3]]
        numbers = (number for number in amount.groups()[:2] if number is not None)
        shown = (
            Units(system).number(factor * float(number), kind, len(number.partition(".")[2]))
            for number in numbers
        )
        return f"{' to '.join(shown)} {_SYSTEMS[system][kind]}"

    return _AMOUNT.sub(typed, text)


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


def width_kind(kind: str) -> str:
    """Return the kind of a difference or a U of a kind: kelvins do not have the 32 of °F."""
    width = KINDS[kind].width if kind in KINDS else None
    return kind if width is None else width.kind


def fine(kind: str, decimals: int) -> tuple[str, int]:
    """Return the kind that a mass given to the gram is told as, the small one, and its decimals."""
    if kind == "mass" and decimals >= 3:
        return "small_mass", decimals - 3
    return kind, decimals


def generation_words(number: float) -> str:
    """Return the generation of a yeast in a sentence; what comes new from its maker is 0."""
    return "new (generation 0)" if number == 0 else f"generation {number:.0f}"


class Units(Struct, frozen=True):
    """The units that numbers are told in: ``metric``, ``US`` or ``imperial``.

    ``short`` prints gal rather than US gal, where a note on the page says which gallon it is.
    ValueError for any other system, when it is asked.
    """

    system: str = "metric"
    short: bool = False

    def _unit(self, kind: str) -> tuple[str, str]:
        """Return the kind whose unit a kind is printed in, and the unit."""
        kind = (KINDS[kind].printed if kind in KINDS else "") or kind
        if self.system not in _SYSTEMS:
            raise ValueError(f"no system of units: {self.system}")
        return kind, _SYSTEMS[self.system][kind]

    def label(self, kind: str) -> str:
        """Return the label of the unit of a kind; empty for a plain number."""
        _, unit = self._unit(kind)
        label = _LABELS.get(unit, unit)
        return label.removeprefix("US ").removeprefix("imp ") if self.short else label

    def head(self, kind: str) -> str:
        """Return the unit for the head of a column or line: SG for a gravity."""
        return (KINDS[kind].scale if kind in KINDS else "") or self.label(kind)

    def decimals(self, kind: str, decimals: int) -> int:
        """Return the decimals to print when the base unit is printed with ``decimals``."""
        kind, _ = self._unit(kind)
        if kind == "fraction":
            return max(0, decimals - 2)
        if self.system == "metric":
            return decimals
        return max(0, decimals + _SHIFT.get(kind, 0))

    def converted(self, value: float, kind: str) -> float:
        """Return a value of the base unit in the printed unit."""
        kind, unit = self._unit(kind)
        return convert(value, _READ_AS.get(kind, kind), unit) if unit else value

    def number(self, value: float, kind: str, decimals: int) -> str:
        """Return a number without its unit; of a jug to the quarter, as it is marked."""
        if kind == "jug_volume" and self.system != "metric":
            quarters = self.converted(value, kind) / _JUG_STEP
            # Less than half of one is not nothing.
            return f"{max(round(quarters), 1) * _JUG_STEP:g}" if quarters > 0 else "0"
        return fixed(self.converted(value, kind), self.decimals(kind, decimals))

    def plain(self, value: float, kind: str, decimals: int) -> str:
        """Return a number with its unit as in plain text, with a space between."""
        told = f"{self.number(value, kind, decimals)} {self.label(kind)}".rstrip()
        return told + self._srm_beside(value, kind, " ")

    def text(self, value: float, kind: str, decimals: int) -> str:
        """Return a number with its unit; EBC has SRM beside it where readers count in SRM."""
        told = self.join(self.number(value, kind, decimals), kind)
        return told + self._srm_beside(value, kind, NARROW)

    def _srm_beside(self, value: float, kind: str, space: str) -> str:
        if kind != "colour" or self.system != "US":
            return ""
        return f" ({value / EBC_PER_SRM:.1f}{space}SRM)"

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
