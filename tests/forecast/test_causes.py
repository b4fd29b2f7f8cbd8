"""The shares of U by cause, against a Monte Carlo; and what halves U."""

from __future__ import annotations

import math

import pytest
from monte_carlo import case_of, spreads

from reportgen.forecast.case import Case
from reportgen.forecast.causes import Cause, causes_of, halving
from reportgen.forecast.walk import walk
from reportgen.science.number import standard_uncertainty, ufloat

FIGURES = ("original_gravity", "final_gravity", "alcohol", "bitterness", "colour")
DRAWS = 200


def spread(case: Case, key: str, only: str = "") -> float:
    return spreads(case, [key], DRAWS if not only else DRAWS // 2, only)[key]


@pytest.mark.parametrize("key", ["alcohol", "bitterness"])
def test_shares_against_a_monte_carlo(key: str) -> None:
    case = case_of("2026-01")
    book, _ = walk(case)
    number = book.expected[key].number
    total = spread(case, key)
    # The standard deviation of 200 draws is itself known to 5 %; three times that.
    assert standard_uncertainty(number) == pytest.approx(total, rel=0.15)
    largest = causes_of(number)[0]
    alone = spread(case, key, largest.name)
    assert largest.share == pytest.approx((alone / total) ** 2, rel=0.35)


def test_shares_add_up_and_causes_of_one_name_count_together() -> None:
    book, _ = walk(case_of("2025-01"))
    for key in FIGURES:
        causes = causes_of(book.expected[key].number)
        assert sum(c.share for c in causes) == pytest.approx(1.0)
        assert len({c.name for c in causes}) == len(causes)
        assert [c.share for c in causes] == sorted((c.share for c in causes), reverse=True)


def test_halving_by_hand() -> None:
    """Of 5 = sqrt(4^2 + 3^2), 2.5 is left: 4 alone would have to vanish, and 3 shrink to 2.5."""
    a, b = ufloat(0, 4, "conversion"), ufloat(0, 3, "evaporation")
    found = halving(a + b)
    # 4 brings 64 % of the variance, less than the 75 % that must go, so both are named.
    assert [c.name for c, _ in found.causes] == ["conversion", "evaporation"]
    assert [then for _, then in found.causes] == pytest.approx([2 * 4 / 2, 2 * 3 / 2])
    alone = halving(ufloat(0, 4, "conversion") + ufloat(0, 1, "colour model"))
    ((cause, then),) = alone.causes
    left = math.sqrt((then / 2) ** 2 + 1.0)
    assert left == pytest.approx(math.sqrt(17) / 2)
    nothing = halving(ufloat(0, 4, "a thing nobody can measure"))
    assert not nothing.is_possible and nothing.causes == ()
    assert causes_of(3.0) == () and isinstance(cause, Cause)
