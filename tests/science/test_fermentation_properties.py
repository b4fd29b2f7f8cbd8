"""What must hold of fermentation, and what is said of logs that a brewer would know at a glance."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.science import fermentation
from reportgen.science.fermentation import Progress

originals = st.floats(1.02, 1.11)
kinds = st.sampled_from(sorted(fermentation.PRIORS))


@given(originals, st.floats(0.5, 0.9), kinds, st.floats(0, 600), st.floats(0, 0.006))
def test_band_holds_what_is_expected(
    og: float, share: float, kind: str, hours: float, fg_u: float
) -> None:
    fg = 1 + (og - 1) * (1 - share)
    band = fermentation.expected_band(hours, og, fg, fg_u, kind)
    assert band.low <= band.expected <= band.high <= og + 1e-12
    assert fg - fg_u - 1e-12 <= band.low
    # In the end the band is that of the final gravity alone.
    last = fermentation.expected_band(5000, og, fg, fg_u, kind)
    assert (last.low, last.high) == pytest.approx((fg - fg_u, min(og, fg + fg_u)), abs=1e-9)


READINGS = st.lists(
    st.tuples(st.floats(0, 300), st.floats(0.995, 1.06)), min_size=1, max_size=10
).map(sorted)


@settings(deadline=None, max_examples=60)
@given(READINGS, kinds)
def test_a_fit_of_any_log_is_made_of_numbers(log: list[tuple[float, float]], kind: str) -> None:
    times, gravities = zip(*log, strict=True)
    fit = fermentation.fit_log(times, gravities, 0.001, 1.050, 1.012, 0.004, kind)
    values = (fit.fg, fit.fg_u, fit.midpoint, fit.rate, fit.end_time, fit.end_time_u, fit.rmse)
    assert all(map(math.isfinite, values))
    assert fit.fg_u >= 0 and fit.end_time_u >= 0 and fit.rmse >= 0
    assert fit.midpoint > 0 and fit.rate > 0 and fit.end_time >= 0


@given(READINGS, st.floats(0, 0.003), kinds)
def test_a_standing_of_any_log(
    log: list[tuple[float, float]], uncertainty: float, kind: str
) -> None:
    found = fermentation.stuck(log, uncertainty, 1.050, 1.012, 0.004, kind)
    assert found.progress in Progress
    assert found.above_end == pytest.approx(log[-1][1] - 1.012)
    if found.progress in (Progress.DONE, Progress.STUCK):
        assert fermentation.steady(log, uncertainty).steady


def test_one_reading_leaves_what_was_expected() -> None:
    fit = fermentation.fit_log([12.0], [1.047], 0.001, 1.048, 1.011)
    assert fit.fg == pytest.approx(1.011, abs=5e-4)
    assert not fit.enough
    assert fit.end_time_u > 12


def test_a_good_log_settles_the_end() -> None:
    times = [0, 18, 30, 42, 54, 78, 102]
    read = [1.048, 1.039, 1.025, 1.017, 1.0145, 1.014, 1.014]
    fit = fermentation.fit_log(times, read, 0.001, 1.048, 1.010)
    assert fit.enough
    # The yeast stopped above what was expected, and the fit follows the readings.
    assert fit.fg == pytest.approx(1.014, abs=0.0007)
    assert 45 < fit.end_time < 75


def test_more_readings_make_the_end_surer() -> None:
    times = [12, 24, 36, 48, 60, 72]
    read = [1.045, 1.032, 1.020, 1.014, 1.0115, 1.0105]
    spreads = [
        fermentation.fit_log(times[:n], read[:n], 0.001, 1.048, 1.010).end_time_u
        for n in (1, 3, 6)
    ]
    assert spreads[0] > spreads[1] > spreads[2]


@pytest.mark.parametrize(
    ("times", "read"), [([], []), ([1.0], []), ([1.0, math.nan], [1.04, 1.03]), ([-1.0], [1.04])]
)
def test_a_log_that_is_none_is_refused(times: list[float], read: list[float]) -> None:
    with pytest.raises(ValueError, match="time"):
        fermentation.fit_log(times, read, 0.001, 1.048, 1.010)


@pytest.mark.parametrize(
    ("readings", "found"),
    [
        # A day apart and the same.
        ([(168, 1.010), (192, 1.010)], True),
        # A day apart, and as much as the instrument cannot tell.
        ([(168, 1.011), (192, 1.010)], True),
        ([(168, 1.0115), (192, 1.010)], False),
        # Twelve hours are not a day.
        ([(180, 1.010), (192, 1.010)], None),
        ([(192, 1.010)], None),
        ([], None),
        # A reading between two that agree must agree too.
        ([(168, 1.010), (180, 1.013), (192, 1.010)], False),
        # Only the last day counts, not the fall before it.
        ([(48, 1.030), (96, 1.015), (168, 1.010), (194, 1.010)], True),
        # Sixty hours apart is better still.
        ([(120, 1.010), (180, 1.010)], True),
        ([(120, 1.014), (180, 1.010)], False),
    ],
)
def test_steady(readings: list[tuple[float, float]], found: bool | None) -> None:
    assert fermentation.steady(readings, 0.001).steady is found


def test_a_finer_instrument_sees_the_fall() -> None:
    readings = [(168, 1.0112), (192, 1.0106)]
    assert fermentation.steady(readings, 0.001).steady is True
    assert fermentation.steady(readings, 0.0002).steady is False


@pytest.mark.parametrize(
    ("readings", "kind", "found"),
    [
        ([], "ale", Progress.UNKNOWN),
        ([(20, 1.040)], "ale", Progress.UNKNOWN),
        ([(0, 1.048), (20, 1.040), (30, 1.028)], "ale", Progress.GOING),
        ([(72, 1.012), (168, 1.010), (192, 1.010)], "ale", Progress.DONE),
        ([(72, 1.026), (168, 1.022), (200, 1.022)], "ale", Progress.STUCK),
        ([(72, 1.036), (96, 1.031)], "ale", Progress.SLOW),
        ([(72, 1.036), (96, 1.031)], "lager", Progress.GOING),
        # Nothing yet after a day: slow for an ale, not stuck; after four days stuck.
        ([(0, 1.048), (30, 1.048)], "ale", Progress.SLOW),
        ([(0, 1.048), (48, 1.048), (96, 1.048)], "ale", Progress.STUCK),
        # A lager may take its time.
        ([(0, 1.048), (30, 1.048)], "lager", Progress.GOING),
    ],
)
def test_standing(readings: list[tuple[float, float]], kind: str, found: Progress) -> None:
    standing = fermentation.stuck(readings, 0.001, 1.048, 1.010, 0.003, kind)
    assert standing.progress is found


def test_standing_gives_its_numbers() -> None:
    standing = fermentation.stuck([(168, 1.0205), (192, 1.0200)], 0.001, 1.048, 1.010, 0.003)
    assert standing.progress is Progress.STUCK
    assert standing.above_end == pytest.approx(0.010)
    assert standing.above_end_u == pytest.approx(math.hypot(0.001, 0.003))
    assert standing.fall == pytest.approx(0.0005)
    assert standing.hours == 24
    assert standing.band is not None and standing.band.high < 1.0205


def test_own_history_takes_the_place_of_the_kind() -> None:
    slow = fermentation.Prior(60.0, 0.05, 1.2)
    readings = [(72, 1.036), (96, 1.020)]
    assert fermentation.stuck(readings, 0.001, 1.048, 1.010).progress is Progress.SLOW
    found = fermentation.stuck(readings, 0.001, 1.048, 1.010, prior=slow)
    assert found.progress is Progress.GOING
