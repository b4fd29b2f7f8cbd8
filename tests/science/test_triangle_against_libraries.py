"""Triangle test against the binomial of scipy."""

from __future__ import annotations

import pytest
from reference import stats

from reportgen.science import triangle

CHECKS = ("triangle.triangle_p_value", "triangle.triangle_needed",)


@pytest.mark.parametrize(
    ("assessors", "correct"),
    [(5, 4), (12, 7), (12, 8), (18, 10), (24, 13), (30, 15), (36, 18), (60, 27), (500, 190)],
)
def test_probability(assessors: int, correct: int) -> None:
    reference = stats.binom.sf(correct - 1, assessors, 1 / 3)
    assert triangle.triangle_p_value(assessors, correct) == pytest.approx(reference, rel=1e-9)


@pytest.mark.parametrize("assessors", [6, 12, 18, 24, 30, 36, 48, 60, 150, 500])
@pytest.mark.parametrize("alpha", [0.2, 0.05, 0.01])
def test_fewest_right_answers(assessors: int, alpha: float) -> None:
    reference = int(stats.binom.isf(alpha, assessors, 1 / 3)) + 1
    assert triangle.triangle_needed(assessors, alpha) == reference
