"""What one's own past batches say: control chart, prediction for the next, comparison."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from msgspec import Struct

from reportgen.science.method import method

ENOUGH = 20
"""Fewer batches than this make a chart provisional (common practice)."""

MOVING_RANGE_TO_SIGMA = 2.0 / math.sqrt(math.pi)
"""d2 for two: mean of the range of two normal values, in standard deviations; 1.128."""

LARGEST_MOVING_RANGE = 1.0 + 3.0 * math.sqrt(2.0 - 4.0 / math.pi) / MOVING_RANGE_TO_SIGMA
"""D4 for two: upper limit of the moving range over its mean, 1 + 3 d3/d2; 3.267."""


class ControlChart(Struct, frozen=True):
    """An individuals chart: centre line, warning (2 sigma) and action (3 sigma) limits.

    ``largest_change`` is the limit of the change from one value to the next.
    """

    centre: float
    mean_moving_range: float
    largest_change: float
    warning: tuple[float, float]
    action: tuple[float, float]
    count: int
    provisional: bool


class Interval(Struct, frozen=True):
    """A value between ``low`` and ``high`` at the coverage asked for."""

    value: float
    low: float
    high: float
    coverage: float


class Comparison(Struct, frozen=True):
    """Difference of two means, a minus b, with its interval.

    ``can_be_told`` is whether the interval leaves zero out.
    """

    difference: float
    low: float
    high: float
    coverage: float
    degrees_of_freedom: float
    p_value: float
    can_be_told: bool


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _variance(values: Sequence[float]) -> float:
    mean = _mean(values)
    return math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)


def _need(count: int, *samples: Sequence[float]) -> None:
    for sample in samples:
        if len(sample) < count:
            raise ValueError(f"needs at least {count} values, has {len(sample)}")
        if not all(math.isfinite(value) for value in sample):
            raise ValueError("every value must be a finite number")


@method
def individuals_chart(values: Sequence[float]) -> ControlChart:
    """Control chart of single values, in order of time.

    Formula:
        centre = mean; MR = mean of |x(i) - x(i-1)|; action = centre +/- 3 MR / 1.128
        (2.66 MR); warning = centre +/- 2 MR / 1.128 (1.77 MR); largest change = 3.267 MR
    Inputs:
        values: unit of the values; at least two, in order of time
    Result: ControlChart with centre, mean_moving_range, largest_change, warning, action, count,
        provisional
    Uncertainty: the limits of n values are known to about 76 / sqrt(n - 1) % (one standard
        uncertainty); provisional under 20
    Source: ISO 7870-2:2023, individuals and moving range chart, factors for two values 2.66
        and 3.267; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
    """
    _need(2, values)
    centre = _mean(values)
    moving = _mean([abs(b - a) for a, b in pairwise(values)])
    sigma = moving / MOVING_RANGE_TO_SIGMA
    return ControlChart(
        centre,
        moving,
        LARGEST_MOVING_RANGE * moving,
        (centre - 2.0 * sigma, centre + 2.0 * sigma),
        (centre - 3.0 * sigma, centre + 3.0 * sigma),
        len(values),
        len(values) < ENOUGH,
    )


def _student_below(value: float, degrees_of_freedom: float) -> float:
    """Return the probability below a value not above 0 of Student's t (NIST DLMF 8.17.1)."""
    if value == 0.0:
        return 0.5
    n, square = degrees_of_freedom, value * value
    # The fraction converges fast on this side of the mean of the beta distribution only.
    if n / (n + square) < (n / 2.0 + 1.0) / (n / 2.0 + 2.5):
        return _beta_share(n / 2.0, 0.5, n / (n + square), square / (n + square)) / 2.0
    return 0.5 - _beta_share(0.5, n / 2.0, square / (n + square), n / (n + square)) / 2.0


def _beta_share(a: float, b: float, x: float, rest: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b); ``rest`` is 1 - x.

    Continued fraction of NIST DLMF 8.17.22, evaluated from its front (I.J. Thompson and
    A.R. Barnett 1986, J. Comput. Phys. 64:490).
    """
    if x <= 0.0:
        return 0.0
    log_front = a * math.log(x) + b * math.log(rest) + math.lgamma(a + b)
    front = math.exp(log_front - math.lgamma(a) - math.lgamma(b)) / a
    c, d = 1.0, 1.0 / (1.0 - (a + b) * x / (a + 1.0))
    value = d
    for m in range(1, 10000):
        terms = (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        )
        for term in terms:
            d = 1.0 / (1.0 + term * d)
            c = 1.0 + term / c
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return front * value


@lru_cache(maxsize=1000)
def _student_quantile(probability: float, degrees_of_freedom: float) -> float:
    """Return the value of Student's t that lies above a share of 0.5 or more of all."""
    above = 1.0 - probability
    low, high = 0.0, 1.0
    while _student_below(-high, degrees_of_freedom) > above:
        low, high = high, 2.0 * high
    while high - low > 1e-14 * high:
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        if _student_below(-middle, degrees_of_freedom) > above:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


@method
def prediction_interval(values: Sequence[float], coverage: float = 0.95) -> Interval:
    """Range in which the next value of the same kind will lie.

    Formula:
        mean +/- t(n - 1) s sqrt(1 + 1/n)
    Inputs:
        values: unit of the values; at least two
        coverage: probability, 0.5 to 0.999; two-sided
    Result: Interval with value (the mean), low, high
    Uncertainty: the coverage holds for a normal spread that does not change
    Source: G.J. Hahn and W.Q. Meeker 1991, Statistical Intervals, 4.7; ISO 16269-8:2004
    """
    _need(2, values)
    count = len(values)
    mean = _mean(values)
    spread = math.sqrt(_variance(values) * (1.0 + 1.0 / count))
    reach = _student_quantile(0.5 + coverage / 2.0, count - 1) * spread
    return Interval(mean, mean - reach, mean + reach, coverage)


@method
def compare_means(
    a: Sequence[float], b: Sequence[float], coverage: float = 0.95
) -> Comparison:
    """Difference between the means of two sets of values, without assuming equal spreads.

    Formula:
        d = mean a - mean b; u^2 = sa^2/na + sb^2/nb; t = d / u;
        nu = u^4 / (sa^4/(na^2 (na - 1)) + sb^4/(nb^2 (nb - 1)))
    Inputs:
        a: unit of the values; at least two
        b: unit of the values; at least two
        coverage: probability, 0.5 to 0.999; two-sided
    Result: Comparison with difference, low, high, degrees_of_freedom, p_value, can_be_told
    Uncertainty: the interval is its uncertainty; normal spread assumed
    Source: B.L. Welch 1947, Biometrika 34:28, doi 10.1093/biomet/34.1-2.28
    """
    _need(2, a, b)
    difference = _mean(a) - _mean(b)
    part_a, part_b = _variance(a) / len(a), _variance(b) / len(b)
    square = part_a + part_b
    if square == 0.0:
        raise ValueError("neither set of values has any spread")
    freedom = square**2 / (part_a**2 / (len(a) - 1) + part_b**2 / (len(b) - 1))
    reach = _student_quantile(0.5 + coverage / 2.0, freedom) * math.sqrt(square)
    p_value = 2.0 * _student_below(-abs(difference) / math.sqrt(square), freedom)
    low, high = difference - reach, difference + reach
    return Comparison(
        difference, low, high, coverage, freedom, p_value, low > 0.0 or high < 0.0
    )
