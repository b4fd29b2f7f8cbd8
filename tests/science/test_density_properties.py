"""What must hold of water and sugar solutions for any numbers in range."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import density
from reportgen.science.method import OutOfRange, reckoning

extracts = st.floats(-5, 70)
worts = st.floats(-3, 35)
temperatures = st.floats(0, 110)


@given(extracts)
def test_gravity_and_extract_invert(extract: float) -> None:
    gravity = density.gravity_from_extract(extract)
    if 0.9815 <= gravity <= 1.3490:
        assert density.extract_from_gravity(gravity) == pytest.approx(extract, abs=1e-9)


@given(worts, worts)
def test_more_extract_is_heavier(one: float, other: float) -> None:
    if one + 1e-6 < other:
        assert density.gravity_from_extract(one) < density.gravity_from_extract(other)


@given(worts, temperatures)
def test_density_is_finite_and_continuous_at_80(extract: float, t: float) -> None:
    assert math.isfinite(density.solution_density(extract, t))
    below = density.solution_density(extract, 80.0)
    above = density.solution_density(extract, 80.0 + 1e-7)
    assert above == pytest.approx(below, abs=1e-4)


@given(st.floats(0, 25), st.floats(4.5, 99))
def test_warmer_wort_is_lighter(extract: float, t: float) -> None:
    warmer = density.solution_density(extract, t + 1)
    assert warmer < density.solution_density(extract, t)


@given(st.floats(0.985, 1.15), st.floats(4, 30))
def test_a_reading_at_the_mark_of_20_is_true(reading: float, t: float) -> None:
    assert density.hydrometer_correction(reading, 20.0, 20.0) == pytest.approx(reading, abs=1e-9)
    if t > 20.5:
        assert density.hydrometer_correction(reading, t, 20.0) > reading


@given(st.floats(0, 2000), temperatures)
def test_volumes_invert_and_stay_positive(volume: float, t: float) -> None:
    hot = density.hot_volume(volume, t)
    assert hot >= 0
    assert density.cold_volume(hot, t) == pytest.approx(volume, rel=1e-12, abs=1e-12)


def test_a_reading_too_hot_is_refused_and_a_warm_one_is_marked() -> None:
    with pytest.raises(OutOfRange, match="sample temperature is 65 °C"):
        density.hydrometer_correction(1.05, 65, 20)
    with reckoning() as marks:
        density.hydrometer_correction(1.05, 45, 20)
    assert [m.name for m in marks] == ["sample_temperature"]
