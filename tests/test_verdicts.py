"""Verdict boundaries, worked from the rule: on plan L+U..H-U, off plan below L-U or above H+U."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.assessment.verdicts import Limits, Verdict, edges, met, verdict

GRAVITY = Limits(1.047, 1.053)

# The worked example of the rule: limits 1.047 to 1.053, U 0.001. On plan 1.048 to 1.052, off below
# 1.046 or above 1.054; every edge belongs to the kinder side.
EDGES = [
    (1.0459, Verdict.OFF_PLAN),
    (1.0460, Verdict.TOO_CLOSE),
    (1.0470, Verdict.TOO_CLOSE),
    (1.0479, Verdict.TOO_CLOSE),
    (1.0480, Verdict.ON_PLAN),
    (1.0500, Verdict.ON_PLAN),
    (1.0520, Verdict.ON_PLAN),
    (1.0521, Verdict.TOO_CLOSE),
    (1.0540, Verdict.TOO_CLOSE),
    (1.0541, Verdict.OFF_PLAN),
]


@pytest.mark.parametrize(("reading", "expected"), EDGES)
def test_edges_of_the_worked_example(reading: float, expected: Verdict) -> None:
    assert verdict(reading, 0.001, GRAVITY) is expected


def test_a_missing_reading_is_never_on_plan() -> None:
    assert verdict(None, 0.0, GRAVITY) is Verdict.NOT_RECORDED
    assert verdict(None, 0.0, Limits(-math.inf, math.inf)) is Verdict.NOT_RECORDED


def test_edges_that_are_exact_in_decimals_are_not_decided_by_binary_rounding() -> None:
    # 0.1 + 0.2 is 0.30000000000000004 in binary; the reading 0.3 is on the edge all the same.
    assert verdict(0.3, 0.2, Limits(0.1, 2.0)) is Verdict.ON_PLAN
    assert verdict(5.4, 0.05, Limits(5.35, 5.65)) is Verdict.ON_PLAN
    assert verdict(5.3, 0.05, Limits(5.35, 5.65)) is Verdict.TOO_CLOSE


def test_one_sided_limits() -> None:
    stop = Limits(1.008, math.inf)
    assert verdict(1.0100, 0.001, stop) is Verdict.ON_PLAN
    assert verdict(1.0085, 0.001, stop) is Verdict.TOO_CLOSE
    assert verdict(1.0060, 0.001, stop) is Verdict.OFF_PLAN
    assert not stop.too_coarse(0.5)


def test_an_instrument_with_half_the_tolerance_or_more_is_too_coarse() -> None:
    assert Limits(65.0, 67.0).too_coarse(1.0)
    assert not Limits(65.0, 67.0).too_coarse(0.99)


def test_too_close_does_not_meet_a_critical_limit() -> None:
    critical = Limits(0.0, 1.0, critical=True)
    assert not met(Verdict.TOO_CLOSE, critical)
    assert met(Verdict.TOO_CLOSE, Limits(0.0, 1.0))
    assert not met(Verdict.NOT_RECORDED, critical)


numbers = st.floats(-1e6, 1e6)


@given(numbers, st.floats(0, 1e5), numbers, st.floats(0, 1e6))
def test_the_printed_range_means_on_plan(
    low: float, u: float, reading: float, width: float
) -> None:
    limits = Limits(low, low + width)
    inside, outside = limits.narrowed(u)
    if inside <= reading <= outside:
        assert verdict(reading, u, limits) is Verdict.ON_PLAN
    if verdict(reading, u, limits) is Verdict.ON_PLAN:
        slack = 1e-9 * max(abs(low), abs(low + width), abs(reading), u, 1.0) * 4
        assert low - slack <= reading <= low + width + slack


@pytest.mark.parametrize(("low", "high"), [(10.0, 20.0), (-math.inf, 20.0), (10.0, math.inf)])
@pytest.mark.parametrize("u", [0.0, 0.5, 7.0])
def test_the_edges_decide_as_the_verdict_does(low: float, high: float, u: float) -> None:
    limits = Limits(low, high)
    off_below, on_from, on_to, off_above = edges(limits, u)
    for tenth in range(320):
        reading = tenth / 10
        by_edges = Verdict.TOO_CLOSE
        if reading < off_below or reading > off_above:
            by_edges = Verdict.OFF_PLAN
        elif on_from <= reading <= on_to:
            by_edges = Verdict.ON_PLAN
        assert by_edges is verdict(reading, u, limits), reading


@pytest.mark.parametrize(("u", "share"), [(0.2, 0.10), (0.4, 0.21), (1.0, 1.0)])
def test_share_of_readings_that_would_be_too_close(u: float, share: float) -> None:
    """By hand from a table of the normal distribution: limits ±1 are 1.96 standard deviations.

    U 0.2: between 1.568 and 2.352, 0.1169 - 0.0187; U 0.4: between 1.176 and
    2.744, 0.2396 - 0.0061; U 1: between 0 and 3.92, nearly all.
    """
    by_hand = {0.2: 0.0982, 0.4: 0.2335, 1.0: 0.9999}[u]
    assert Limits(-1.0, 1.0).share_too_close(u) == pytest.approx(by_hand, abs=0.0002)
    assert abs(by_hand - share) < 0.03


def test_the_u_that_decides_leaves_a_fifth() -> None:
    limits = Limits(65.0, 67.0)
    assert limits.share_too_close(limits.deciding()) == pytest.approx(0.2, abs=1e-6)
