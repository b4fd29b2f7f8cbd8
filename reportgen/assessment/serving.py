"""Orders in which glasses are served, and their codes: balanced, and the same when drawn again.

Nothing here is random: an order is drawn by the hash of what the evening is called.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from typing import TypeVar

T = TypeVar("T")

TRIANGLES = ("ABB", "BAA", "AAB", "BBA", "ABA", "BAB")
"""The six orders of a triangle test, each served equally often (ISO 4120:2021, 8.2)."""

PAIRS = ("AB", "BA")
"""The two orders of a paired comparison, each served equally often (ISO 5495:2005)."""

FIRST_CODE, LAST_CODE = 101, 999


def drawn(items: Sequence[T], evening: str, what: str) -> list[T]:
    """Return items in the order that the hash of an evening and a word for what is drawn gives."""
    def key(number: int) -> str:
        return hashlib.sha256(f"{evening}|{what}|{number}".encode()).hexdigest()

    return [items[number] for number in sorted(range(len(items)), key=key)]


def codes(count: int, evening: str) -> tuple[str, ...]:
    """Return codes of three figures for some glasses, none twice."""
    return tuple(str(n) for n in drawn(range(FIRST_CODE, LAST_CODE + 1), evening, "codes")[:count])


def balanced_square(glasses: int) -> tuple[tuple[int, ...], ...]:
    """Return orders of some glasses balanced for place and for what is tasted just before.

    Each glass stands equally often in each place, and each follows each other equally often:
    E.J. Williams 1949, Aust. J. Sci. Res. A 2:149. As many orders as glasses when their number is
    even, else twice as many.
    """
    first, low, high = [], 0, glasses - 1
    while low <= high:
        first.append(low)
        if low != high:
            first.append(high)
        low, high = low + 1, high - 1
    rows = [tuple((g + shift) % glasses for g in first) for shift in range(glasses)]
    if glasses % 2:
        rows += [tuple(reversed(row)) for row in rows]
    return tuple(rows)


def serving_orders(glasses: int, tasters: int, evening: str) -> tuple[tuple[int, ...], ...]:
    """Return the order of each taster: whole balanced squares, as far as the tasters go."""
    return tuple(_blocks(balanced_square(glasses), tasters, evening))


def letter_orders(orders: Sequence[str], tasters: int, evening: str) -> tuple[str, ...]:
    """Return for each taster one of some orders in letters, each equally often."""
    return tuple(_blocks(orders, tasters, evening))


def _blocks(orders: Sequence[T], tasters: int, evening: str) -> Iterator[T]:
    for start in range(0, tasters, len(orders)):
        block = drawn(orders, evening, f"block {start}")
        yield from block[: tasters - start]
