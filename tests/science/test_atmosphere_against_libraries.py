"""Air and boiling point: iapws, CoolProp, the atmosphere of fluids, Arrhenius by chempy."""

from __future__ import annotations

import pytest
from chempy.kinetics.arrhenius import arrhenius_equation
from CoolProp.CoolProp import PropsSI
from fluids import ATMOSPHERE_1976
from iapws import IAPWS97
from uncertainties import ufloat

from reportgen.science import atmosphere, heat

CHECKS = (
    "atmosphere.boiling_point_at",
    "atmosphere.air_pressure",
    "atmosphere.altitude_of_pressure",
    "atmosphere.gauge_elsewhere",
    "atmosphere.boil_as_at_sea",
)


@pytest.mark.parametrize("bar", [0.25, 0.5, 0.7, 0.795, 0.9, 1.01325, 1.2, 2.0, 3.0])
def test_boiling_point_by_two_libraries(bar: float) -> None:
    ours = atmosphere.boiling_point_at(bar)
    assert ours == pytest.approx(IAPWS97(P=bar / 10, x=0).T - 273.15, abs=0.002)
    assert ours == pytest.approx(PropsSI("T", "P", bar * 1e5, "Q", 0, "Water") - 273.15, abs=0.02)


@pytest.mark.parametrize("altitude", [-600, 0, 300, 1000, 1600, 2500, 4000, 5000])
def test_air_and_back(altitude: float) -> None:
    expected = ATMOSPHERE_1976(altitude).P / 1e5
    ours = atmosphere.air_pressure(altitude)
    # Their altitude is geometric, that of ISO 2533 geopotential: 4 m at 5 km.
    assert ours == pytest.approx(expected, rel=6e-4)
    assert atmosphere.altitude_of_pressure(expected) == pytest.approx(altitude, abs=5)


def test_a_keg_taken_up_a_hill() -> None:
    low, high = (ATMOSPHERE_1976(h).P / 1e5 for h in (200, 1800))
    shown = atmosphere.gauge_elsewhere(0.9, low, high)
    assert shown + high == pytest.approx(0.9 + low)


@pytest.mark.parametrize("celsius", [90, 93.3, 96.7, 100, 102])
def test_a_cooler_boil_isomerises_less(celsius: float) -> None:
    rate = [arrhenius_equation(7.9e11, 98600, t + 273.15) for t in (celsius, 100)]
    assert atmosphere.boil_as_at_sea(60, celsius) == pytest.approx(
        60 * rate[0] / rate[1], rel=0.003
    )


def test_one_boiling_point_in_the_tool() -> None:
    assert heat.boiling_point(1500) == atmosphere.boiling_point_at(atmosphere.air_pressure(1500))


def test_the_weather_passes_into_the_boiling_point() -> None:
    point = atmosphere.boiling_point_at(ufloat(0.95, 0.015))
    expected = (IAPWS97(P=0.0965, x=0).T - IAPWS97(P=0.0935, x=0).T) / 2
    assert point.std_dev == pytest.approx(expected, rel=0.01)


def test_low_places_are_served() -> None:
    """Shores below the sea level, and a mine at 2 km down by the formula of ISO 2533."""
    from reportgen.science import carbonation

    air = atmosphere.air_pressure(-2000)
    assert carbonation.gauge_pressure(2.4, 5, air) < carbonation.gauge_pressure(2.4, 5)
    assert carbonation.residual_co2(20, air) > carbonation.residual_co2(20)
    high = atmosphere.air_pressure(1600)
    assert carbonation.gauge_pressure(2.4, 5, high) == pytest.approx(
        carbonation.gauge_pressure(2.4, 5) + 1.01325 - high
    )
