"""Carbonate: what must hold for any water."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import carbonate
from reportgen.science.method import OutOfRange

PH = st.floats(3.0, 11.0)
DEGREES = st.floats(0.0, 90.0)
STRENGTH = st.floats(0.0, 0.1)


@given(PH, st.floats(0.001, 2.0), DEGREES, STRENGTH)
def test_charge_rises_with_ph(ph: float, step: float, degrees: float, strength: float) -> None:
    low = carbonate.charge(ph, degrees, strength)
    high = carbonate.charge(ph + step, degrees, strength)
    assert 0.0 <= low < high <= 2.0


@given(DEGREES)
def test_second_step_is_four_units_above_the_first(degrees: float) -> None:
    assert 3.5 < carbonate.pk2(degrees) - carbonate.pk1(degrees) < 4.5


@given(PH, DEGREES, STRENGTH)
def test_nothing_is_undefined(ph: float, degrees: float, strength: float) -> None:
    for value in (
        carbonate.charge(ph, degrees, strength),
        carbonate.hydroxide_less_hydrogen(ph, degrees, strength),
        carbonate.log_activity(strength, degrees),
    ):
        assert math.isfinite(value)


def test_a_ph_of_twenty_is_refused() -> None:
    with pytest.raises(OutOfRange):
        carbonate.charge(20.0)


def test_uncertainty_of_the_ph_is_carried() -> None:
    from uncertainties import ufloat

    charge = carbonate.charge(ufloat(6.4, 0.05))
    slope = (carbonate.charge(6.4001) - carbonate.charge(6.3999)) / 0.0002
    assert charge.std_dev == pytest.approx(slope * 0.05, rel=1e-4)
