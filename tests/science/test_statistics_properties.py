"""What must hold of the statistics for any numbers."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from reportgen.science import statistics

samples = st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=30)


@given(samples)
def test_limits_stand_around_the_centre(values: list[float]) -> None:
    chart = statistics.individuals_chart(values)
    assert chart.action[0] <= chart.warning[0] <= chart.centre <= chart.warning[1]
    assert chart.warning[1] <= chart.action[1]
    assert min(values) - 1e-9 <= chart.centre <= max(values) + 1e-9
    assert chart.count == len(values)


@given(samples, st.floats(0.5, 0.98))
def test_more_coverage_is_wider(values: list[float], coverage: float) -> None:
    narrow = statistics.prediction_interval(values, coverage)
    wide = statistics.prediction_interval(values, coverage + 0.01)
    assert wide.low <= narrow.low <= narrow.value <= narrow.high <= wide.high


@given(samples, samples)
def test_comparison_turned_round(a: list[float], b: list[float]) -> None:
    assume(max(a) - min(a) > 1e-3 and max(b) - min(b) > 1e-3)
    one, other = statistics.compare_means(a, b), statistics.compare_means(b, a)
    assert one.difference == pytest.approx(-other.difference)
    assert one.low == pytest.approx(-other.high)
    assert one.can_be_told == other.can_be_told
    assert 0 <= one.p_value <= 1


@pytest.mark.parametrize("values", [[], [1.0], [1.0, math.nan], [1.0, math.inf]])
def test_too_little_is_an_error_that_says_so(values: list[float]) -> None:
    with pytest.raises(ValueError, match="value"):
        statistics.individuals_chart(values)
    with pytest.raises(ValueError, match="value"):
        statistics.prediction_interval(values)


def test_two_sets_without_spread_cannot_be_compared() -> None:
    with pytest.raises(ValueError, match="spread"):
        statistics.compare_means([1.0, 1.0], [2.0, 2.0])
