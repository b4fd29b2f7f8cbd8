"""Colour: units by pint, absorbance by the law of Beer, spread by uncertainties."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy
import pytest
from reference import PINT
from uncertainties import ufloat

from reportgen.science import colour, density

CHECKS = (
    "colour.malt_colour_units",
    "colour.srm_power_law",
    "colour.colour",
)

@pytest.mark.parametrize(
    ("kilograms", "ebc", "litres"),
    [(5.0, 5.5, 23.0), (0.4, 120.0, 19.0), (0.25, 1200.0, 500.0), (80.0, 4.0, 400.0)],
)
def test_pounds_and_gallons(kilograms: float, ebc: float, litres: float) -> None:
    pounds = (kilograms * PINT.kilogram).to(PINT.pound).magnitude
    gallons = (litres * PINT.liter).to(PINT.gallon).magnitude
    reference = pounds * ebc * 12.7 / 25 / gallons
    ours = colour.malt_colour_units([(kilograms, ebc)], litres)
    assert ours == pytest.approx(reference, rel=1e-9)


@pytest.mark.parametrize("extract", [0.76, 0.80, 0.82])
@pytest.mark.parametrize("recovered", [0.88, 0.95])
def test_the_sum_is_the_wort_of_the_laboratory_diluted(extract: float, recovered: float) -> None:
    """A malt's colour is that of its Congress wort, made of 50 g in 450 g (Analytica-EBC 4.5.1).

    The wort is what the grain does not hold back: water and extract, its volume by the density of a
    sugar solution. A brewery recovers 88 to 95 % of that.
    """
    dissolved = 50.0 * extract
    grams = 400.0 + dissolved
    millilitres = grams / (density.solution_density(100.0 * dissolved / grams, 20.0) / 1000)
    litres = 20.0
    ebc = 5.0 * 30.0 / (litres * 1000.0) * millilitres / 0.050 * recovered
    assert colour.colour([(5.0, 30.0)], litres, "additive") == pytest.approx(ebc, rel=0.08)


@pytest.mark.parametrize("mcu", [3.0, 10.0, 22.85, 60.0])
def test_the_power_law_is_a_line_in_logarithms(mcu: float) -> None:
    """As it was fitted: ln SRM on ln MCU, slope 0.6859, through ln 1.4922."""
    reference = numpy.exp(numpy.polyval([0.6859, numpy.log(1.4922)], numpy.log(mcu)))
    assert colour.srm_power_law(mcu) == pytest.approx(reference, rel=1e-9)


def test_uncertainty_is_carried_through_the_power() -> None:
    mcu = ufloat(20.0, 2.0)
    found = colour.srm_power_law(mcu)
    assert found.std_dev / found.nominal_value == pytest.approx(0.6859 * 0.1, rel=1e-6)
    assert found.nominal_value == pytest.approx(1.4922 * math.exp(0.6859 * math.log(20)))


@pytest.mark.parametrize(
    ("model", "srm"),
    [
        ("additive", numpy.poly1d([31 / 32.3, 0.0])),
        ("power_law", lambda mcu: 1.4922 * numpy.power(mcu, 0.6859)),
    ],
)
@pytest.mark.parametrize(
    ("grist", "litres"),
    [
        ([(4.0, 7.48), (0.2, 39.37), (0.2, 88.583), (0.05, 1043.307)], 20.0),
        ([(6.0, 5.0), (1.0, 16.0)], 38.0),
        ([(90.0, 4.0), (9.0, 120.0), (1.5, 1300.0)], 500.0),
    ],
)
def test_colour_of_a_grist_in_pounds_and_gallons(
    grist: list[tuple[float, float]], litres: float, model: str, srm: Callable[[float], float]
) -> None:
    """Pounds by degrees Lovibond over gallons by pint, the printed line by numpy, SRM to EBC."""
    in_pounds = (1.0 * PINT.kilogram).to(PINT.pound).magnitude
    pounds = sum(kg * in_pounds * ebc / 1.9685 for kg, ebc in grist)
    gallons = (litres * PINT.liter).to(PINT.gallon).magnitude
    expected = 1.9685 * float(srm(pounds / gallons))
    assert colour.colour(grist, litres, model) == pytest.approx(expected, rel=2e-4)
