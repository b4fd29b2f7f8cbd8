"""Units that are not among those met daily, through the pint library.

It does more than name them: it has dimension and factor of all that is measured (``stone``,
``torr``, ``dm3``), so that the table of units can stay the short one of the trade and nobody is
refused a unit that means one thing. It is small beside what it saves: four packages, no parts in C.

Loading pint and its definitions takes most of a second, so it happens only when such a unit is
written. What pint would accept and a brewer would not mean is kept out: customary measures that
differ between countries, and prefixes that make a unit out of a slip (``2 hs`` is no two
hectoseconds).
"""

from __future__ import annotations

import functools
import re
from typing import Any

_FORM = re.compile(r"(?:US |imp )?[A-Za-zμ_]{2,24}[23]?(?:/[A-Za-zμ_]{1,24}[23]?)?")
_GALLONS = {
    "US gal": "gallon",
    "US qt": "quart",
    "US pt": "pint",
    "US fl oz": "fluid_ounce",
    "imp gal": "imperial_gallon",
    "imp qt": "imperial_quart",
    "imp pt": "imperial_pint",
    "imp fl oz": "imperial_fluid_ounce",
}
_PREFIXES = {"", "kilo", "hecto", "deci", "centi", "milli", "micro", "mega"}
_UNPREFIXED = {"second", "minute", "hour", "day", "week", "foot", "inch", "yard", "pound", "ounce"}
_DIFFERING = {
    "ton", "hundredweight", "long_hundredweight", "short_hundredweight", "bushel", "peck",
    "barrel", "cup", "gill", "tablespoon", "teaspoon", "dram", "drachm", "minim", "grain",
    "month", "year", "hogshead", "tun", "butt", "fifth", "jig", "shot", "oil_barrel", "acre_foot",
    "fluid_dram", "pennyweight", "scruple", "slug", "carat", "dry_gallon", "dry_quart", "dry_pint",
    "dry_barrel", "gallon", "quart", "pint", "fluid_ounce", "beer_barrel", "register_ton",
    "water_ton", "freight_ton", "ton_TNT", "quarter", "stone_UK", "therm", "quadrillion_Btu",
}  # fmt: skip
_KINDS = {
    "[length] ** 3": ("volume", "liter"),
    "[mass]": ("mass", "kilogram"),
    "[time]": ("time", "minute"),
    "[length]": ("length", "meter"),
    "[mass] / [length] / [time] ** 2": ("pressure", "bar"),
    "[mass] * [length] ** 2 / [time] ** 3": ("power", "kilowatt"),
    "[mass] * [length] ** 2 / [time] ** 2": ("energy", "kilojoule"),
    "[mass] * [length] ** 2 / [temperature] / [time] ** 2": ("heat_capacity", "kilojoule/kelvin"),
    "[length] ** 2 * [mass] / [time] ** 3": ("power", "kilowatt"),
    "[length] ** 2 * [mass] / [time] ** 2": ("energy", "kilojoule"),
    "[length] ** 2 * [mass] / [temperature] / [time] ** 2": ("heat_capacity", "kilojoule/kelvin"),
    "[length] ** 3 / [time]": ("evaporation", "liter/hour"),
    "[length] ** 3 / [mass]": ("specific_volume", "liter/kilogram"),
    "[mass] / [length] ** 3": ("concentration", "milligram/liter"),
}
_LEAST, _MOST = 1e-7, 1e7
"""Factors to the base unit beyond which a unit is of no use in a brewhouse."""


@functools.cache
def registry() -> Any:
    """Return the library's registry of units, loaded once."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=False)


def look_up(unit: str) -> tuple[str, float] | None:
    """Return kind and factor to the kind's base unit of a unit, or None if there is none such."""
    if not _FORM.fullmatch(unit):
        return None
    expression = _expression(unit)
    if expression is None:
        return None
    import pint

    try:
        quantity = registry().Quantity(1.0, expression)
        dimensions = str(quantity.dimensionality)
        kind, base = _KINDS[dimensions]
        factor = float(quantity.to(base).magnitude)
    except (pint.errors.PintError, KeyError, ValueError, TypeError, AttributeError):
        return None
    return (kind, factor) if _LEAST <= factor <= _MOST else None


def _expression(unit: str) -> str | None:
    """Return the unit as the library writes it, or None if a part of it must not be used."""
    head, slash, tail = unit.partition("/")
    parts = []
    for part in (head, tail) if slash else (head,):
        word = _GALLONS.get(part)
        if word is None:
            name = part.rstrip("23")
            word = _allowed(name)
            if word is None:
                return None
            if name != part:
                word += f"**{part[-1]}"
        parts.append(word)
    return "/".join(parts)


def _allowed(name: str) -> str | None:
    parses = registry().parse_unit_name(name)
    if not parses:
        return None
    prefix, root, _ = parses[0]
    if prefix not in _PREFIXES or root in _DIFFERING or (prefix and root in _UNPREFIXED):
        return None
    return str(prefix + root)
