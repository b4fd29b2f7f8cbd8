"""What must hold of the refractometer for any numbers in range."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from reportgen.science import density, refractometer

originals = st.floats(2, 30)
factors = st.floats(0.95, 1.10)
fermented = st.floats(-0.05, 1.05)


@given(originals, fermented, factors)
def test_reading_and_gravity_invert(original: float, share: float, factor: float) -> None:
    apparent = original * (1 - share)
    brix = refractometer.fermenting_brix(original, apparent, factor)
    found = refractometer.present_gravity(original, brix, factor)
    assert found == pytest.approx(density.gravity_from_extract(apparent), abs=1e-7)


@given(originals, factors)
def test_unfermented_wort_reads_extract_times_factor(original: float, factor: float) -> None:
    brix = refractometer.fermenting_brix(original, original, factor)
    assert brix == pytest.approx(original * factor, abs=1e-6)
    assert refractometer.extract_from_brix(brix, factor) == pytest.approx(original, abs=1e-6)


@given(originals, st.floats(0, 0.9), factors)
def test_the_reading_falls_all_through_fermentation(
    original: float, share: float, factor: float
) -> None:
    now = refractometer.fermenting_brix(original, original * (1 - share), factor)
    later = refractometer.fermenting_brix(original, original * (1 - share - 0.05), factor)
    assert later < now


@given(st.floats(5, 20), st.floats(0.3, 0.95), st.floats(1.0, 1.06))
def test_two_instruments_find_the_original(original: float, share: float, factor: float) -> None:
    apparent = original * (1 - share)
    brix = refractometer.fermenting_brix(original, apparent, factor)
    beer = refractometer.alcohol_from_both(brix, density.gravity_from_extract(apparent), factor)
    assert beer.original_extract == pytest.approx(original, abs=1e-4)
    assert all(math.isfinite(v) for v in beer)


def test_uncertainty_of_the_alcohol_is_that_of_the_readings() -> None:
    beer = refractometer.alcohol_from_both(
        ufloat(6.3, 0.05), ufloat(1.0118, 0.00025), ufloat(1.02, 0.005)
    )
    assert 0.05 < beer.alcohol.std_dev < 0.15
    assert beer.original_extract.std_dev > beer.alcohol.std_dev


def test_readings_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="reads from 20.8 Brix unfermented down to .* not 1$"):
        refractometer.present_gravity(20, 1, 1.04)
    with pytest.raises(ValueError, match="12.5 Brix unfermented"):
        refractometer.present_gravity(12, 15, 1.04)
    with pytest.raises(ValueError, match="no beer of gravity 1.1300 reads 5 Brix"):
        refractometer.alcohol_from_both(5, 1.13)
