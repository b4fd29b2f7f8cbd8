"""Statistics of one's own batches against scipy."""

from __future__ import annotations

import math

import numpy
import pytest
from reference import integrate, stats

from reportgen.science import statistics

CHECKS = (
    "statistics.individuals_chart",
    "statistics.prediction_interval",
    "statistics.compare_means",
)

SAMPLES = [numpy.random.default_rng(seed).normal(1.05, 0.002, size) for seed, size in
           enumerate([2, 3, 5, 12, 40])]


@pytest.mark.parametrize("coverage", [0.8, 0.95, 0.99])
@pytest.mark.parametrize("values", SAMPLES, ids=len)
def test_prediction_interval(values: numpy.ndarray, coverage: float) -> None:
    count = len(values)
    scale = values.std(ddof=1) * math.sqrt(1 + 1 / count)
    low, high = stats.t.interval(coverage, count - 1, loc=values.mean(), scale=scale)
    found = statistics.prediction_interval(list(values), coverage)
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)


@pytest.mark.parametrize("coverage", [0.9, 0.95])
@pytest.mark.parametrize(("i", "j"), [(0, 4), (1, 3), (2, 3), (3, 4)])
def test_difference_of_means(i: int, j: int, coverage: float) -> None:
    a, b = SAMPLES[i], SAMPLES[j] + 0.001
    reference = stats.ttest_ind(a, b, equal_var=False)
    low, high = reference.confidence_interval(coverage)
    found = statistics.compare_means(list(a), list(b), coverage)
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)
    assert found.p_value == pytest.approx(reference.pvalue, rel=1e-9)
    assert found.degrees_of_freedom == pytest.approx(reference.df, rel=1e-9)
    assert found.can_be_told is bool(reference.pvalue < 1 - coverage)


def test_the_factor_of_the_moving_range() -> None:
    """Mean of |x - y| of two normal values: 1.128, so that 3 / 1.128 is 2.66."""
    spread = math.sqrt(2)
    reference, _ = integrate.quad(lambda x: 2 * x * stats.norm.pdf(x, 0, spread), 0, 20)
    factor = statistics.MOVING_RANGE_TO_SIGMA
    assert factor == pytest.approx(reference, rel=1e-9)
    assert 3 / factor == pytest.approx(2.66, abs=0.005)


def test_the_limit_of_the_moving_range() -> None:
    """1 + 3 d3/d2 with d3 the spread of |x - y|; D4 = 3.267 in the tables (ISO 7870-2)."""
    spread = math.sqrt(2)
    second, _ = integrate.quad(lambda x: 2 * x**2 * stats.norm.pdf(x, 0, spread), 0, 20)
    d2 = statistics.MOVING_RANGE_TO_SIGMA
    reference = 1 + 3 * math.sqrt(second - d2**2) / d2
    factor = statistics.LARGEST_MOVING_RANGE
    assert factor == pytest.approx(reference, rel=1e-9)
    assert factor == pytest.approx(3.267, abs=0.0006)


def test_limits_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2, flow rates of ten batches: limits 45.8159 and 55.8041."""
    rates = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    chart = statistics.individuals_chart(rates)
    # The handbook works with d2 rounded to 1.128; here it has all its figures.
    assert chart.action == pytest.approx((45.8159, 55.8041), abs=0.002)
    assert chart.largest_change == pytest.approx(3.267 * 1.8778, abs=0.002)


@pytest.mark.parametrize("values", SAMPLES[1:], ids=len)
def test_chart(values: numpy.ndarray) -> None:
    moving = numpy.abs(numpy.diff(values)).mean()
    chart = statistics.individuals_chart(list(values))
    assert chart.centre == pytest.approx(values.mean())
    assert chart.action[1] - chart.centre == pytest.approx(2.6587 * moving, rel=1e-4)
    assert chart.warning[1] - chart.centre == pytest.approx(1.7725 * moving, rel=1e-4)
    assert chart.provisional is (len(values) < 20)


@pytest.mark.parametrize("freedom", [1, 1.7, 2, 4.3, 9, 30, 500])
@pytest.mark.parametrize("probability", [0.75, 0.9, 0.975, 0.9995])
def test_students_t(freedom: float, probability: float) -> None:
    reference = stats.t.ppf(probability, freedom)
    assert statistics._student_quantile(probability, freedom) == pytest.approx(reference, rel=1e-9)
    below = statistics._student_below(-reference, freedom)
    assert below == pytest.approx(1 - probability, rel=1e-9)


@pytest.mark.parametrize("freedom", [1.0, 1.7, 4.0, 29.5, 61.0, 999.0])
@pytest.mark.parametrize("value", [1e-9, 0.3, 1.9, 12.7, 250.0])
def test_a_small_share_lies_beyond_a_large_t(value: float, freedom: float) -> None:
    """Student's t by the continued fraction is as good in the tail as in the middle."""
    assert statistics._student_below(-value, freedom) == pytest.approx(
        stats.t.cdf(-value, freedom), rel=1e-9, abs=1e-280
    )
