"""How a number of a kind is told: in which unit, with how many decimals.

Documents and checks go by the same rules. Values come in the base unit of their kind, and
``decimals`` are those that would stand there. A kind ``small_mass`` or ``small_volume`` asks for
the small unit, grams rather than kilograms; millilitres stay millilitres everywhere, since nobody
doses acid in fluid ounces. ``jug_volume`` is what is poured from a jug: quarts or imperial pints,
in quarters, where the house has gallons. Colour is told in EBC everywhere.
"""

from __future__ import annotations

from reportgen.record.kinds import KINDS
from reportgen.record.unit_display import convert, display_unit, fixed, to_display

_SMALL = {"small_volume": "volume", "small_mass": "mass"}
_JUGS = {"US": "US qt", "imperial": "imp pt"}
_JUG_STEP = 0.25

_PLAIN = ("ph", "ratio", "count", "gravity", "gravity_step", "")
"""Kinds that are told without a unit."""

_SHIFT = {"volume": 1, "small_mass": 1, "evaporation": 1, "pressure": -1}
"""Decimals more or fewer where the unit of the house is larger or smaller than the base unit."""


def width_kind(kind: str) -> str:
    """Return the kind of a difference or a U of a kind: kelvins do not have the 32 of °F."""
    width = KINDS[kind].width if kind in KINDS else None
    return kind if width is None else width.kind


def _printed_as(kind: str) -> str:
    return (KINDS[kind].printed if kind in KINDS else "") or kind


def printed_decimals(kind: str, system: str, decimals: int) -> int:
    """Return the decimals in the printed unit (``metric``, ``US``, ``imperial``)."""
    kind = _printed_as(kind)
    if kind == "fraction":
        return max(0, decimals - 2)
    if system == "metric":
        return decimals
    return max(0, decimals + _SHIFT.get(kind, 0))


def printed_unit(kind: str, system: str) -> str:
    """Return the label of the unit of a kind; empty for a plain number."""
    kind = _printed_as(kind)
    if kind in _PLAIN:
        return ""
    if kind == "colour":
        return "EBC"
    if kind == "jug_volume":
        return _JUGS.get(system, "L")
    return display_unit(_SMALL.get(kind, kind), _system(kind, system), kind in _SMALL)


def printed_value(value: float, kind: str, system: str) -> float:
    """Return a value of the base unit in the printed unit."""
    kind = _printed_as(kind)
    if kind in _PLAIN or kind == "colour":
        return value
    if kind == "jug_volume":
        return convert(value, "volume", _JUGS.get(system, "L"))
    return to_display(value, _SMALL.get(kind, kind), _system(kind, system), kind in _SMALL)


def printed_number(value: float, kind: str, system: str, decimals: int) -> str:
    """Return a number without its unit; of a jug to the quarter, as it is marked."""
    if kind == "jug_volume" and system in _JUGS:
        quarters = printed_value(value, kind, system) / _JUG_STEP
        # Less than half of one is not nothing.
        return f"{max(round(quarters), 1) * _JUG_STEP:g}" if quarters > 0 else "0"
    places = printed_decimals(kind, system, decimals)
    return fixed(printed_value(value, kind, system), places)


def _system(kind: str, system: str) -> str:
    return "metric" if kind == "small_volume" else system


def generation_words(number: float) -> str:
    """Return the generation of a yeast in a sentence; what comes new from its maker is 0."""
    return "new (generation 0)" if number == 0 else f"generation {number:.0f}"
