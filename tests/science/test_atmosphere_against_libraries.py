"""Air and boiling point: iapws, CoolProp, the atmosphere of fluids, Arrhenius by chempy."""

from __future__ import annotations

import pytest
from reference import IAPWS97, PropsSI
from uncertainties import ufloat

from reportgen.science import atmosphere

CHECKS = (
    "atmosphere.boiling_point_at",
)


@pytest.mark.parametrize("bar", [0.25, 0.5, 0.7, 0.795, 0.9, 1.01325, 1.2, 2.0, 3.0])
def test_boiling_point_by_two_libraries(bar: float) -> None:
    ours = atmosphere.boiling_point_at(bar)
    assert ours == pytest.approx(IAPWS97(P=bar / 10, x=0).T - 273.15, abs=0.002)
    assert ours == pytest.approx(PropsSI("T", "P", bar * 1e5, "Q", 0, "Water") - 273.15, abs=0.02)


def test_the_weather_passes_into_the_boiling_point() -> None:
    point = atmosphere.boiling_point_at(ufloat(0.95, 0.015))
    expected = (IAPWS97(P=0.0965, x=0).T - IAPWS97(P=0.0935, x=0).T) / 2
    assert point.std_dev == pytest.approx(expected, rel=0.01)


def test_low_places_are_served() -> None:
    """Shores below the sea level, and a mine at 2 km down by the formula of ISO 2533."""
    from reportgen.science import carbonation

    air = carbonation.atmospheric_pressure(-2000)
    assert carbonation.gauge_pressure(2.4, 5, air) < carbonation.gauge_pressure(2.4, 5)
    assert carbonation.co2_volumes(0, 20, air) > carbonation.co2_volumes(0, 20)
    high = carbonation.atmospheric_pressure(1600)
    assert carbonation.gauge_pressure(2.4, 5, high) == pytest.approx(
        carbonation.gauge_pressure(2.4, 5) + 1.01325 - high
    )
