"""Amounts and prices of the store in words."""

from __future__ import annotations

from reportgen.record.printed import Units


def amount_in(value: float, kind: str, system: str) -> str:
    """Return an amount of an item, kg or L, in the units of a house: grams below a kilogram."""
    small = abs(value) < 1.0
    kind = f"small_{kind}" if small else kind
    return Units(system).plain(value, kind, 0 if small else 2)


def price_in(value: float, currency: str) -> str:
    """Return a price with the currency of the house, if it has one."""
    return f"{value:.2f} {currency}".strip()
