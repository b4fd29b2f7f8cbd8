"""Numbers for print: values of the base units in metric, US or imperial units."""

from __future__ import annotations

from reportgen.record.unit_names import cleaned, find_unit
from reportgen.record.unit_table import BASE

MINUS = "\u2212"
"""The true minus sign, as wide as a plus."""

_METRIC = {**BASE, "fraction": "%", "alpha": "%", "temperature": "C", "gravity": "SG"}
_US = {
    **_METRIC,
    "volume": "US gal",
    "mass": "lb",
    "temperature": "F",
    "temperature_difference": "F",
    "pressure": "psi",
    "concentration": "ppm",
    "colour": "SRM",
    "length": "ft",
    "evaporation": "US gal/h",
    "specific_volume": "US qt/lb",
    "heat_capacity": "BTU/F",
    "energy": "BTU",
}
_IMPERIAL = {
    **_METRIC,
    "volume": "imp gal",
    "mass": "lb",
    "pressure": "psi",
    "length": "ft",
    "evaporation": "imp gal/h",
    "specific_volume": "imp pt/lb",
}
_SYSTEMS = {"metric": _METRIC, "US": _US, "imperial": _IMPERIAL}
_SMALL = {
    ("volume", "metric"): "mL",
    ("volume", "US"): "US fl oz",
    ("volume", "imperial"): "imp fl oz",
    ("mass", "metric"): "g",
    ("mass", "US"): "oz",
    ("mass", "imperial"): "oz",
}
_LABELS = {"C": "°C", "F": "°F", "SG": "", "P": "°P", "Bx": "°Bx"}


def convert(value: float, kind: str, unit: str) -> float:
    """Return a value of the base unit in another unit of the same kind.

    Raises :class:`UnitError` when the unit is none of that kind. Gravities are not converted from
    one scale to another; that is a matter of science, not of units.
    """
    row = find_unit(unit, "1", cleaned(unit), kind, None)
    return value / row.factor - row.offset


def _display(kind: str, system: str, small: bool) -> str:
    if system not in _SYSTEMS:
        raise ValueError(f"no system of units: {system}")
    usual = _SYSTEMS[system][kind]
    return _SMALL.get((kind, system), usual) if small else usual


def display_unit(kind: str, system: str, small: bool = False) -> str:
    """Return the label of the unit a kind is printed in (``metric``, ``US``, ``imperial``).

    ``small`` asks for the unit of hops and salts rather than of malt, of yeast rather than wort.
    The label is empty for a plain number.
    """
    unit = _display(kind, system, small)
    return _LABELS.get(unit, unit)


def to_display(value: float, kind: str, system: str, small: bool = False) -> float:
    """Return a value of the base unit in the unit it is printed in."""
    unit = _display(kind, system, small)
    return convert(value, kind, unit) if unit else value


def fixed(value: float, decimals: int) -> str:
    """Return a number with a fixed number of decimals, a true minus sign, no negative zero."""
    shown = f"{value:.{decimals}f}"
    if shown.startswith("-"):
        return shown[1:] if float(shown) == 0 else MINUS + shown[1:]
    return shown
