"""What must hold of the triangle test for any numbers of assessors."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import triangle


@st.composite
def answers(draw: st.DrawFn) -> tuple[int, int]:
    assessors = draw(st.integers(1, 200))
    return assessors, draw(st.integers(0, assessors))


@given(answers())
def test_more_right_is_less_likely(given_answers: tuple[int, int]) -> None:
    assessors, correct = given_answers
    p = triangle.triangle_p_value(assessors, correct)
    assert 0 < p <= 1
    if correct < assessors:
        # Where nearly all guessing is as good, the next one differs by less than a float can say.
        assert triangle.triangle_p_value(assessors, correct + 1) < p or p > 1 - 1e-12
    if correct == 0:
        assert p == 1


@given(st.integers(1, 200), st.floats(0.001, 0.4))
def test_needed_is_the_first_that_is_enough(assessors: int, alpha: float) -> None:
    needed = triangle.triangle_needed(assessors, alpha)
    if needed is None:
        assert triangle.triangle_p_value(assessors, assessors) > alpha
        return
    assert triangle.triangle_p_value(assessors, needed) <= alpha
    assert triangle.triangle_p_value(assessors, needed - 1) > alpha


def test_more_right_than_assessors_is_an_error() -> None:
    with pytest.raises(ValueError, match="13 correct responses of 12"):
        triangle.triangle_p_value(12, 13)
