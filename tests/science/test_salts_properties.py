"""Salts: what must hold for any dose."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import salts
from reportgen.science.method import OutOfRange

SALT = st.sampled_from(sorted(salts.SALTS))
GRAMS = st.floats(1e-6, 5000.0)
LITRES = st.floats(0.1, 1000.0)


@given(SALT, GRAMS, LITRES, st.floats(0.05, 1.0))
def test_mass_is_not_created(salt: str, grams: float, litres: float, assay: float) -> None:
    increase = salts.ion_increase(salt, grams, litres, assay)
    if salts.SALTS[salt].alkalinity == 0.0:
        dissolved = sum(mg for ion, mg in increase.items() if ion != "alkalinity")
        assert dissolved <= 1000.0 * grams * assay / litres * (1 + 1e-9)


@given(SALT, GRAMS, LITRES, st.floats(0.1, 10.0))
def test_twice_the_salt_twice_the_ions(
    salt: str, grams: float, litres: float, factor: float
) -> None:
    once = salts.ion_increase(salt, grams, litres)
    more = salts.ion_increase(salt, grams * factor, litres)
    for ion in once:
        assert more[ion] == pytest.approx(once[ion] * factor, rel=1e-9, abs=1e-9)


@given(st.floats(0.0, 100.0))
def test_gypsum_stays_between_two_and_three_grams(temperature: float) -> None:
    assert 2.0 < salts.gypsum_solubility(temperature) < 2.7


@given(st.floats(0.0, 20.0), LITRES)
def test_potassium_salt_weighs_more_than_sodium_salt(chlorine: float, litres: float) -> None:
    potassium = salts.metabisulfite_dose(chlorine, litres, "potassium_metabisulfite")
    assert potassium >= salts.metabisulfite_dose(chlorine, litres, "sodium_metabisulfite")


def test_an_unknown_salt_is_an_error() -> None:
    with pytest.raises(KeyError):
        salts.ion_increase("sea_salt", 1.0, 10.0)


def test_a_negative_dose_is_refused() -> None:
    with pytest.raises(OutOfRange):
        salts.ion_increase("gypsum", -1.0, 10.0)


def test_uncertainty_of_the_scale_is_carried() -> None:
    from uncertainties import ufloat

    calcium = salts.ion_increase("gypsum", ufloat(5.0, 0.1), 10.0)["calcium"]
    assert calcium.std_dev / calcium.nominal_value == pytest.approx(0.02)
