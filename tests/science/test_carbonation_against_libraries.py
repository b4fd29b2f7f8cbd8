"""Carbonation: stoichiometry by molmass and chempy, solubility by phreeqpython and iapws, gas by
CoolProp, air by fluids; and the table of beer by a fit to it that was published."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import pytest
from reference import ATMOSPHERE_1976, Formula, PhreeqPython, PropsSI, balance_stoichiometry, brentq
from uncertainties import ufloat

from reportgen.science import carbonation, density

CHECKS = (
    "carbonation.atmospheric_pressure",
    "carbonation.co2_volumes",
    "carbonation.gauge_pressure",
    "carbonation.priming_sugar",
    "carbonation.volumes_from_sugar",
    "carbonation.volumes_from_gravity_points",
)

PSI = 0.0689476
"""bar."""


@cache
def gas() -> float:
    """Return the density of carbon dioxide at 0 degC and 1 atm, g/L."""
    return float(PropsSI("D", "T", 273.15, "P", 101325, "CO2"))


@cache
def engine() -> Any:
    return PhreeqPython()


@pytest.mark.parametrize("altitude", [-300, 0, 85, 500, 1000, 1500, 2000, 3000, 4500])
def test_air_pressure(altitude: float) -> None:
    # The library counts geometric height; the difference is 0.1 m at 1000 m.
    reference = ATMOSPHERE_1976(altitude).P / 1e5
    assert carbonation.atmospheric_pressure(altitude) == pytest.approx(reference, rel=5e-4)


def gas_from(sugar: str, water: int) -> float:
    """Grams of gas from 1 g of a sugar, its formula balanced by chempy, its mass by molmass."""
    formula = sugar.split(".")[0]
    left = {formula, "H2O"} if water else {formula}
    used, made = balance_stoichiometry(left, {"C2H5OH", "CO2"})
    mass = Formula(formula).mass + (Formula("H2O").mass if sugar.endswith(".H2O") else 0)
    return made["CO2"] * Formula("CO2").mass / (used[formula] * mass)


@pytest.mark.parametrize(
    ("key", "formula", "water"),
    [
        ("sucrose", "C12H22O11", 1),
        ("glucose", "C6H12O6", 0),
        ("glucose_monohydrate", "C6H12O6.H2O", 0),
    ],
)
@pytest.mark.parametrize(("wanted", "warmest"), [(2.4, 20.0), (3.2, 12.0)])
def test_priming(key: str, formula: str, water: int, wanted: float, warmest: float) -> None:
    grams = gas() * (wanted - carbonation.co2_volumes(0.0, warmest)) * 20.0
    reference = grams / gas_from(formula, water)
    ours = carbonation.priming_sugar(wanted, warmest, 20.0, key)
    assert ours == pytest.approx(reference, rel=1e-3)


@pytest.mark.parametrize(
    ("key", "formula", "water"),
    [
        ("sucrose", "C12H22O11", 1),
        ("glucose", "C6H12O6", 0),
        ("glucose_monohydrate", "C6H12O6.H2O", 0),
    ],
)
@pytest.mark.parametrize(("grams", "volume"), [(180.0, 38.0), (7.0, 1.0)])
def test_gas_from_priming(
    key: str, formula: str, water: int, grams: float, volume: float
) -> None:
    reference = grams * gas_from(formula, water) / (gas() * volume)
    ours = carbonation.volumes_from_sugar(grams, volume, key)
    assert ours == pytest.approx(reference, rel=1e-3)


def test_priming_with_malt_extract() -> None:
    """95 % extract, 62 % of it maltose that ferments; both of them common practice."""
    reference = carbonation.priming_sugar(2.4, 20, 20, "sucrose") / 0.95 / 0.62
    ours = carbonation.priming_sugar(2.4, 20, 20, "dry_malt_extract")
    assert ours == pytest.approx(reference, rel=1e-9)
    half = carbonation.priming_sugar(2.4, 20, 20, "dry_malt_extract", 0.31)
    assert half == pytest.approx(2 * reference, rel=1e-9)


def gas_in_water(gauge: float, celsius: float) -> float:
    """Volumes in pure water, by PHREEQC, which counts pressure as fugacity here."""
    vapour = PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water") / 1e5
    solution = engine().add_solution({})
    solution.change_temperature(celsius)
    solution.equalize(["CO2(g)"], [math.log10((gauge + 1.01325 - vapour) / 1.01325)])
    dissolved = solution.total("CO2", units="mol")
    solution.forget()
    return float(dissolved * density.water_density(celsius) / 1000 * Formula("CO2").mass / gas())


def table_fit(psi: float, fahrenheit: float) -> float:
    """Volumes in beer, by the polynomial that a brewer fitted in 2009 to the table of the ASBC."""
    slope = (0.00000981 * fahrenheit - 0.00229169) * fahrenheit + 0.16809729
    return slope * psi + (0.00024826 * fahrenheit - 0.04710192) * fahrenheit + 2.87424296


@pytest.mark.parametrize("fahrenheit", [34, 38, 42, 46, 50, 55, 60])
@pytest.mark.parametrize("psi", [5, 12, 20])
def test_beer_by_the_table_of_the_analysts(fahrenheit: float, psi: float) -> None:
    celsius = (fahrenheit - 32) / 1.8
    ours = carbonation.co2_volumes(psi * PSI, celsius)
    assert ours == pytest.approx(table_fit(psi, fahrenheit), rel=0.025)
    gauge = carbonation.gauge_pressure(table_fit(psi, fahrenheit), celsius)
    assert gauge + 1.01325 == pytest.approx(psi * PSI + 1.01325, rel=0.025)


@pytest.mark.parametrize("celsius", [1, 5, 10, 15, 20, 25])
def test_beer_holds_less_than_water(celsius: float) -> None:
    """About 4 % less at 12 degP, says the manual of the instruments that use the equation."""
    beer = carbonation.co2_volumes(1.0, celsius)
    water = gas_in_water(1.0, celsius)
    assert 0.92 < beer / water < 0.99


def test_gas_and_pressure_of_what_is_left_to_ferment() -> None:
    """Maltose by chempy and molmass; the pressure by a root of the solubility."""
    now, end = 1.014, 1.010
    apparent = density.extract_from_gravity(now) - density.extract_from_gravity(end)
    grams = 0.8192 * apparent * 10 * now * 0.99820 * gas_from("C12H22O11", 1)
    made = carbonation.volumes_from_gravity_points(now, end)
    assert made == pytest.approx(grams / gas(), rel=1e-3)
    reference = brentq(lambda p: carbonation.co2_volumes(p, 22.0) - 0.9 - made, 0, 10)
    assert carbonation.gauge_pressure(0.9 + made, 22.0) == pytest.approx(reference, rel=1e-9)


def test_uncertainty_of_priming() -> None:
    found = carbonation.priming_sugar(2.4, 20.0, ufloat(20.0, 0.4))
    assert found.std_dev / found.nominal_value == pytest.approx(0.02, rel=1e-9)
    warm = carbonation.co2_volumes(0.0, ufloat(20.0, 1.0))
    slope = carbonation.co2_volumes(0.0, 20.5) - carbonation.co2_volumes(0.0, 19.5)
    assert warm.std_dev == pytest.approx(-slope, rel=1e-3)
