"""Boil: latent and sensible heat by CoolProp and iapws, kinetics by scipy."""

from __future__ import annotations

import math

import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95
from scipy.integrate import solve_ivp
from uncertainties import ufloat

from reportgen.science import boil

CHECKS = (
    "boil.volume_after_boil",
    "boil.time_to_reach",
    "boil.dms_precursor_left",
)


def latent(celsius: float) -> float:
    """Latent heat, kJ/kg."""
    steam, water = (PropsSI("H", "T", celsius + 273.15, "Q", q, "Water") for q in (1, 0))
    return (steam - water) / 1000


@pytest.mark.parametrize(("start", "end"), [(10, 99.9), (15, 78), (20, 66), (66, 99.5)])
def test_time_to_heat_water(start: float, end: float) -> None:
    mass = 50 * PropsSI("D", "T", 293.15, "P", 101325, "Water") / 1000
    cold, hot = (IAPWS95(T=t + 273.15, P=0.101325).h for t in (start, end))
    reference = mass * (hot - cold) / 5.0 / 60
    assert boil.time_to_reach(50, start, end, 5.0) == pytest.approx(reference, rel=0.003)


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
