"""Serving orders: balanced for place and carry-over, and drawn again the same."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest

from reportgen.assessment.serving import (
    PAIRS,
    TRIANGLES,
    balanced_square,
    codes,
    letter_orders,
    serving_orders,
)


@pytest.mark.parametrize("glasses", range(2, 7))
def test_each_glass_is_in_each_place_and_after_each_other_equally_often(glasses: int) -> None:
    """What makes a design balanced for carry-over (Williams 1949)."""
    orders = balanced_square(glasses)
    assert len(orders) == glasses * (1 + glasses % 2)
    assert all(sorted(order) == list(range(glasses)) for order in orders)
    places = Counter((place, g) for order in orders for place, g in enumerate(order))
    assert len(set(places.values())) == 1 and len(places) == glasses**2
    after = Counter(pair for order in orders for pair in pairwise(order))
    assert len(set(after.values())) == 1 and len(after) == glasses * (glasses - 1)


def test_the_published_square_of_four() -> None:
    """Williams 1949: the first row of a square of four is 1 2 4 3 up to the names of its glasses,
    0 3 1 2 here; the others follow by adding one."""
    assert balanced_square(4) == ((0, 3, 1, 2), (1, 0, 2, 3), (2, 1, 3, 0), (3, 2, 0, 1))


@pytest.mark.parametrize("tasters", [3, 4, 6, 12, 24])
def test_drawn_again_it_is_the_same_and_another_evening_is_another(tasters: int) -> None:
    one = serving_orders(4, tasters, "2026-04 2026-12-05")
    assert one == serving_orders(4, tasters, "2026-04 2026-12-05") and len(one) == tasters
    evenings = [serving_orders(4, tasters, f"2026-04 2026-12-{day:02d}") for day in range(1, 15)]
    assert len(set(evenings)) > 3


@pytest.mark.parametrize("orders", [TRIANGLES, PAIRS])
def test_orders_in_letters_are_served_equally_often(orders: tuple[str, ...]) -> None:
    served = Counter(letter_orders(orders, 24, "x"))
    assert set(served) == set(orders) and len(set(served.values())) == 1


def test_no_code_twice() -> None:
    found = codes(24, "2026-12-05")
    assert len(set(found)) == 24 and all(len(c) == 3 and c.isdigit() for c in found)
