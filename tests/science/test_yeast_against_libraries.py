"""Yeast: units by pint, rates by scipy."""

from __future__ import annotations

import math

import numpy
import pytest
from reference import PINT, curve_fit
from uncertainties import ufloat

from reportgen.science import yeast

CHECKS = (
    "yeast.cells_to_pitch",
    "yeast.pitch_rate",
    "yeast.slurry_volume",
    "yeast.dry_yeast_mass",
    "yeast.viability",
)

@pytest.mark.parametrize(
    ("litres", "extract", "rate"), [(20, 10, 0.75), (500, 15, 1.5), (38.5, 7.2, 0.5)]
)
def test_cells_by_units(litres: float, extract: float, rate: float) -> None:
    density = rate * 1e6 * extract / PINT.milliliter
    reference = (density * litres * PINT.liter).to_base_units().magnitude / 1e9
    cells = yeast.cells_to_pitch(litres, extract, rate)
    assert cells == pytest.approx(reference, rel=1e-12)
    assert yeast.pitch_rate(cells, litres, extract) == pytest.approx(rate, rel=1e-12)


@pytest.mark.parametrize(("cells", "density", "living"), [(180, 1.2, 0.9), (3000, 0.4, 0.75)])
def test_slurry_and_dry_yeast_by_units(cells: float, density: float, living: float) -> None:
    volume = cells * 1e9 / (density * 1e9 * living / PINT.milliliter)
    mass = cells * 1e9 / (10e9 * living / PINT.gram)
    ours = yeast.slurry_volume(cells, density, living)
    assert ours == pytest.approx(volume.to(PINT.liter).magnitude, rel=1e-12)
    ours = yeast.dry_yeast_mass(cells, 10, living)
    assert ours == pytest.approx(mass.to(PINT.kilogram).magnitude, rel=1e-12)


def test_rate_of_dying_is_a_line_through_what_was_found() -> None:
    """ln k against the temperature, fitted by scipy to losses of 7, 14 and 68 % in six days."""
    degrees = numpy.array([1.0, 5.0, 25.0])
    found = numpy.log(-numpy.log(1 - numpy.array([0.07, 0.14, 0.68])) / 6)
    (slope, at_four), _ = curve_fit(lambda t, b, a: a + b * (t - 4), degrees, found)
    reference = math.exp(-math.exp(at_four + slope * (10 - 4)) * 14)
    ours = yeast.viability(14, 10, fresh=1.0).expected
    assert ours == pytest.approx(reference, rel=2e-3)


def test_uncertainty_of_a_pitch() -> None:
    found = yeast.pitch_rate(ufloat(300, 30), ufloat(40, 0.4), ufloat(10, 0.1))
    expected = (0.1**2 + 2 * 0.01**2) ** 0.5
    assert found.std_dev / found.nominal_value == pytest.approx(expected, rel=1e-9)
