"""Numbers as the checks say them: units of the house, decimals of the figure, in plain text.

Values come in the base unit of a figure's kind. The documents' own numbers are made for paper,
with narrow spaces and ranges; what is decided there about units and decimals is decided alike here.
"""

from __future__ import annotations

import math

from reportgen.assess import Assessment
from reportgen.forecast.figures import Figure
from reportgen.record.unit_display import display_unit, format_quantity

_ONE_MORE = ("volume", "evaporation")
_PLAIN = ("ph", "ratio", "count", "gravity", "")
_WIDTHS = {"temperature": "temperature_difference"}


def system_of(batch: Assessment) -> str:
    """Return the units of the house: ``metric``, ``US`` or ``imperial``."""
    return str(batch.brewery.units)


def _places(kind: str, system: str, decimals: int) -> int:
    if kind == "fraction":
        return max(0, decimals - 2)
    if system == "metric":
        return decimals
    return max(0, decimals + (kind in _ONE_MORE) - (kind == "pressure"))


def _number(value: float, kind: str, system: str, places: int) -> str:
    if kind == "colour" or kind in _PLAIN:
        return f"{value:.{places}f}".replace("-", "\u2212")
    return format_quantity(value, kind, system, places)


def _unit(kind: str, system: str) -> str:
    if kind == "colour":
        return "EBC"
    return "" if kind in _PLAIN else display_unit(kind, system)


def _joined(number: str, unit: str) -> str:
    return f"{number} {unit}" if unit else number


def quantity(value: float, kind: str, decimals: int, batch: Assessment) -> str:
    """Return a number with its unit. ``decimals`` are those in the base unit of the kind."""
    kind, system = "volume" if kind == "amount" else kind, system_of(batch)
    shown = _number(value, kind, system, _places(kind, system, decimals))
    return _joined(shown, _unit(kind, system))


def value_of(figure: Figure, value: float, batch: Assessment) -> str:
    """Return a value of a figure with its unit."""
    return quantity(value, figure.kind, figure.decimals, batch)


def width_of(figure: Figure, width: float, batch: Assessment, signed: bool = False) -> str:
    """Return a difference, U or tolerance of a figure with its unit.

    It has the decimals of the figure, and more where these would round it by a tenth or more: so
    no width but nought is printed as nought. Shares are told in percentage points.
    """
    kind = "volume" if figure.kind == "amount" else figure.kind
    kind, system = _WIDTHS.get(kind, kind), system_of(batch)
    places = _places(kind, system, figure.decimals)
    exact = float(_number(width, kind, system, 9).replace("\u2212", "-"))
    while places < 6 and not math.isclose(round(exact, places), exact, rel_tol=0.1):
        places += 1
    shown = _number(width, kind, system, places)
    if signed and width > 0 and shown.strip("0."):
        shown = f"+{shown}"
    if kind == "fraction":
        return f"{shown} percentage points"
    return _joined(shown, _unit(kind, system))
