"""What must hold of carbonation for any numbers in range."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.science import carbonation

degrees = st.floats(-2, 40)
volumes = st.floats(0, 6)
airs = st.floats(0.6, 1.1)
sugars = st.sampled_from(sorted(carbonation.GAS_YIELD))


@given(volumes, degrees, airs)
def test_pressure_and_gas_turn_round(wanted: float, celsius: float, air: float) -> None:
    gauge = carbonation.gauge_pressure(wanted, celsius, air)
    if not -0.9 <= gauge <= 10:
        return
    assert carbonation.co2_volumes(gauge, celsius, air) == pytest.approx(wanted, abs=1e-9)


@given(st.floats(0, 4), st.floats(0, 35), st.floats(0.1, 5))
def test_more_pressure_and_colder_beer_hold_more(
    gauge: float, celsius: float, step: float
) -> None:
    held = carbonation.co2_volumes(gauge, celsius)
    assert carbonation.co2_volumes(gauge + step, celsius) > held > 0
    assert carbonation.co2_volumes(gauge, celsius + step) < held


@given(volumes, degrees, st.floats(0, 500), sugars, airs)
def test_priming_makes_up_exactly_what_is_missing(
    wanted: float, celsius: float, volume: float, sugar: str, air: float
) -> None:
    grams = carbonation.priming_sugar(wanted, celsius, volume, sugar, 0.8, air)
    assert grams >= 0
    made = 0.8 * grams * carbonation.GAS_YIELD[sugar] / carbonation.GRAMS_IN_VOLUME
    missing = max(0.0, wanted - carbonation.co2_volumes(0.0, celsius, air))
    assert made == pytest.approx(volume * missing, abs=1e-9)


def test_beer_that_holds_enough_is_not_primed() -> None:
    assert carbonation.priming_sugar(1.2, 4.0, 20.0) == 0


def test_high_up_beer_keeps_less_and_needs_more_sugar() -> None:
    air = carbonation.atmospheric_pressure(1500)
    assert carbonation.co2_volumes(0.0, 20, air) < carbonation.co2_volumes(0.0, 20)
    high = carbonation.priming_sugar(2.4, 20, 20, "sucrose", None, air)
    assert high > carbonation.priming_sugar(2.4, 20, 20)
    # The absolute pressure that holds the gas is the same everywhere, so the gauge shows more.
    gauge = carbonation.gauge_pressure(2.4, 5, air)
    assert gauge - carbonation.gauge_pressure(2.4, 5) == pytest.approx(1.01325 - air)


@given(st.floats(0.99, 1.05), st.floats(0, 0.03), st.floats(0, 0.02))
def test_every_point_left_makes_gas(end: float, left: float, more: float) -> None:
    made = carbonation.volumes_from_gravity_points(end + left, end)
    assert made >= 0
    assert carbonation.volumes_from_gravity_points(end + left + more, end) >= made - 1e-12
    assert carbonation.volumes_from_gravity_points(end, end + left) == 0


def test_an_unknown_sugar_is_an_error() -> None:
    with pytest.raises(KeyError):
        carbonation.priming_sugar(2.4, 20, 20, "treacle")
