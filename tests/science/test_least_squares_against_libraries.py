"""Least squares: certified values of nonlinear regression, and scipy within bounds."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reference import optimize

from reportgen.science import fermentation
from reportgen.science.least_squares import inverse, least_squares

CHECKS = ("fermentation.fit_log",)

MISRA1A = [
    (77.6, 10.07), (114.9, 14.73), (141.1, 17.94), (190.8, 23.93), (239.9, 29.61), (289.0, 35.18),
    (332.8, 40.02), (378.4, 44.82), (434.8, 50.76), (477.3, 55.05), (536.8, 61.01), (593.1, 66.40),
    (689.1, 75.47), (760.0, 81.78),
]  # fmt: skip
"""NIST Statistical Reference Datasets, nonlinear regression, Misra1a: x, y."""


@pytest.mark.parametrize("start", [(500.0, 0.0001), (250.0, 0.0005)])
def test_certified_regression(start: tuple[float, float]) -> None:
    """Both starts of NIST's file; certified parameters, their deviations, the squares left."""

    def residuals(p: Sequence[float]) -> list[float]:
        return [p[0] * (1 - math.exp(-p[1] * x)) - y for x, y in MISRA1A]

    def slopes(p: Sequence[float]) -> list[list[float]]:
        return [[1 - math.exp(-p[1] * x), p[0] * x * math.exp(-p[1] * x)] for x, _ in MISRA1A]

    found = least_squares(residuals, slopes, start, (0.0, 0.0), (1e4, 1.0), (100.0, 1e-4))
    assert found.found == pytest.approx((2.3894212918e02, 5.5015643181e-04), rel=1e-8)
    assert 2 * found.cost == pytest.approx(1.2455138894e-01, rel=1e-8)
    spread = 2 * found.cost / (len(MISRA1A) - 2)
    deviations = [math.sqrt(spread * inverse(found.normal)[i][i]) for i in (0, 1)]
    assert deviations == pytest.approx((2.7070075241, 7.2668688436e-06), rel=1e-6)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.floats(-3, 3), min_size=18, max_size=18),
    st.lists(st.floats(-3, 3), min_size=6, max_size=6),
)
def test_a_straight_problem_within_bounds(numbers: list[float], right: list[float]) -> None:
    """As good as scipy's lsq_linear, whichever bounds bind."""
    matrix = numpy.array(numbers).reshape(6, 3) + numpy.vstack([2 * numpy.eye(3), numpy.eye(3)])

    def residuals(p: Sequence[float]) -> list[float]:
        return list(matrix @ numpy.array(p) - numpy.array(right))

    best = optimize.lsq_linear(matrix, right, bounds=(-0.5, 0.5), tol=1e-14)
    found = least_squares(
        residuals, lambda p: matrix.tolist(), (0.1, -0.1, 0.0), (-0.5,) * 3, (0.5,) * 3, (1.0,) * 3
    )
    assert all(-0.5 <= x <= 0.5 for x in found.found)
    assert found.cost <= best.cost * (1 + 1e-6) + 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_the_fit_of_a_log(seed: int) -> None:
    """Curve, what is expected and all: the same as scipy finds with slopes of its own."""
    random = numpy.random.default_rng(seed)
    og, fg, expected_fg = 1.052, float(random.uniform(1.008, 1.016)), 1.012
    midpoint, rate = float(random.uniform(18, 40)), float(random.uniform(0.06, 0.18))
    times = sorted(float(t) for t in random.uniform(0, 200, int(random.integers(3, 12))))
    read = [
        fermentation._curve(t, og, fg, midpoint, rate) + float(random.normal(0, 6e-4))
        for t in times
    ]
    prior = fermentation.PRIORS["ale"]
    u = math.hypot(0.001, 0.001) / 2
    u_log = math.log(prior.spread) / 2
    middle = numpy.array([expected_fg, math.log(prior.midpoint), math.log(prior.rate)])

    def residuals(p: numpy.ndarray) -> numpy.ndarray:
        m, b = numpy.exp(p[1:])
        curve = p[0] + (og - p[0]) * (1 + math.exp(-b * m)) / (
            1 + numpy.exp(b * (numpy.array(times) - m))
        )
        return numpy.concatenate([(curve - read) / u, (p - middle) / [0.002, u_log, u_log]])

    best = optimize.least_squares(
        residuals, middle, x_scale=[0.001, 0.1, 0.1], ftol=1e-15, xtol=1e-15, gtol=1e-15
    )
    ours = fermentation.fit_log(times, read, 0.001, og, expected_fg)
    assert ours.fg == pytest.approx(best.x[0], abs=1e-8)
    assert math.log(ours.midpoint) == pytest.approx(best.x[1], abs=1e-5)
    assert math.log(ours.rate) == pytest.approx(best.x[2], abs=1e-5)
    spread = numpy.linalg.inv(best.jac.T @ best.jac) * max(1.0, 2 * best.cost / len(times))
    assert ours.fg_u == pytest.approx(2 * math.sqrt(spread[0, 0]), rel=1e-4)
