"""Amounts and prices of the store in words."""

from __future__ import annotations

from reportgen.record.printed import Units


def amount_in(value: float, kind: str, system: str) -> str:
    """Return an amount of an item, kg or L, in the units of a house: grams below a kilogram, ounces
    below a pound."""
    units = Units(system)
    small = abs(units.converted(value, kind) if kind == "mass" else value) < 1.0
    # A gallon is told to a hundredth, as a litre is.
    decimals = 1 if kind == "volume" and system != "metric" else 2
    return units.plain(value, f"small_{kind}" if small else kind, 0 if small else decimals)


def price_in(value: float, currency: str) -> str:
    """Return a price with the currency of the house, if it has one."""
    return f"{value:.2f} {currency}".strip()
