"""Boil: kinetics by scipy."""

from __future__ import annotations

import math

import pytest
from reference import solve_ivp
from uncertainties import ufloat

from reportgen.science import boil

CHECKS = (
    "boil.volume_after_boil",
    "boil.dms_precursor_left",
)


@pytest.mark.parametrize("rate", [1.0, 2.0, 5.0])
def test_precursor_while_cooling(rate: float) -> None:
    """Wort cooled in steps of a degree, against the rate integrated by scipy."""
    def slope(t: float, y: list[float]) -> list[float]:
        half_life = 35.0 * 2 ** ((100 - (100 - rate * t)) / 6)
        return [-math.log(2) / half_life * y[0]]

    minutes = 30 / rate
    reference = solve_ivp(slope, (0, minutes), [1.0], rtol=1e-9).y[0, -1]
    ours = 1.0
    for step in range(30):
        ours *= boil.dms_precursor_left(1 / rate, 99.5 - step)
    assert ours == pytest.approx(reference, rel=1e-3)


@pytest.mark.parametrize("minutes", [15, 60, 120])
def test_precursor_by_the_rate_found(minutes: float) -> None:
    """The same study gives the rate too, rounded: about 0.02 per min, integrated by scipy."""
    found = solve_ivp(lambda _, y: [-0.02 * y[0]], (0, minutes), [1.0], rtol=1e-9)
    assert boil.dms_precursor_left(minutes) == pytest.approx(found.y[0, -1], rel=0.03)


def test_uncertainty_of_evaporation() -> None:
    found = boil.volume_after_boil(ufloat(50.0, 0.3), ufloat(4.5, 0.4), 90)
    assert found.nominal_value == pytest.approx(43.25)
    assert found.std_dev == pytest.approx((0.3**2 + 0.6**2) ** 0.5)
