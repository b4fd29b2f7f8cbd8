"""Acids: what must hold for any dose."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import acid
from reportgen.science.method import OutOfRange

ACID = st.sampled_from(sorted(acid.ACIDS))


@given(ACID, st.floats(2.0, 10.0), st.floats(0.001, 1.0))
def test_more_is_given_up_as_ph_rises(key: str, ph: float, step: float) -> None:
    low, high = acid.ionised_equivalents(key, ph), acid.ionised_equivalents(key, ph + step)
    assert 0.0 < low <= high <= len(acid.ACIDS[key].pks)


@given(ACID, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_stronger_bottle_holds_more(key: str, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert acid.acid_normality(key, low) <= acid.acid_normality(key, high) + 1e-9


@given(ACID, st.floats(-2.0, 8.0), st.floats(6.5, 8.5), st.floats(0.0, 10.0), st.floats(0.01, 2.0))
def test_more_acid_gives_a_lower_ph(
    key: str, alkalinity: float, start: float, dose: float, more: float
) -> None:
    high = acid.liquor_ph_after_acid(alkalinity, start, {key: dose})
    low = acid.liquor_ph_after_acid(alkalinity, start, {key: dose + more})
    assert 0.0 < low < high < 14.0


@given(ACID, st.floats(0.0, 500.0), st.floats(0.05, 0.8), st.floats(4.5, 6.5))
def test_millilitres_give_the_equivalents_back(
    key: str, equivalents: float, fraction: float, ph: float
) -> None:
    poured = acid.acid_millilitres(equivalents, key, fraction, ph)
    strength = acid.acid_normality(key, fraction) * acid.ionised_equivalents(key, ph)
    assert poured >= 0.0
    assert poured * strength == pytest.approx(equivalents, rel=1e-9, abs=1e-9)


def test_a_strength_in_percent_is_refused() -> None:
    with pytest.raises(OutOfRange):
        acid.acid_normality("lactic", 88.0)


def test_uncertainty_of_the_bottle_is_carried() -> None:
    from uncertainties import ufloat

    strength = acid.acid_normality("lactic", ufloat(0.80, 0.02))
    assert strength.std_dev / strength.nominal_value == pytest.approx(0.028, abs=0.002)
