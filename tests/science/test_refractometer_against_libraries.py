"""Refraction of ethanol and sugar against handbook solutions and by the rule of mixtures."""

from __future__ import annotations

import pytest
from reference import brentq

from reportgen.science import density, refractometer

CHECKS = (
    "refractometer.present_gravity",
    "refractometer.refractive_index",
)

# CRC Handbook of Chemistry and Physics, 102nd ed., Concentrative Properties of Aqueous
# Solutions, ethanol at 20 degC: % by mass, density g/cm3, refractive index.
ETHANOL = [
    (2, 0.9945, 1.3342),
    (4, 0.9910, 1.3354),
    (5, 0.9893, 1.3360),
    (6, 0.9878, 1.3367),
    (7, 0.9862, 1.3374),
    (8, 0.9847, 1.3381),
]


def reading(index: float) -> float:
    """Brix that a refractometer shows of an index."""
    return brentq(lambda b: refractometer.refractive_index(b) - index, -4, 59, xtol=1e-12)


@pytest.mark.parametrize(("percent", "rho", "index"), ETHANOL)
def test_a_wort_fermented_to_spirit_has_the_density_of_the_handbook(
    percent: float, rho: float, index: float
) -> None:
    """Extract of which nothing is left but this alcohol, by the yield of fermentation.

    The last figure of the index is worth 0.06 % of alcohol, 0.0001 in gravity; the tool allows no
    reading far below the end of fermentation.
    """
    original = 2.0665 * percent / (1 + 0.010665 * percent)
    found = refractometer.present_gravity(original, reading(index), 1.0)
    assert found == pytest.approx(rho / 0.99820, abs=0.0003)


@pytest.mark.parametrize("original", [12.0, 15.0, 18.0])
@pytest.mark.parametrize(("percent", "rho", "index"), ETHANOL[:3])
def test_half_fermented_wort_by_the_handbook(
    original: float, percent: float, rho: float, index: float
) -> None:
    """Density and index of sugar and of spirit, each made up to the volume of the beer, add up."""
    light = 1.0
    for _ in range(20):
        # The spirit of the handbook holds as much in a litre as the beer.
        alcohol = percent * rho / (light * 0.99820)
        real = original * (1 + 0.010665 * alcohol) - 2.0665 * alcohol
        sugar = brentq(
            lambda p: p * density.gravity_from_extract(p) - real * light, 0.0, 40.0  # noqa: B023
        )
        light = density.gravity_from_extract(sugar) + rho / 0.99820 - 1
    together = refractometer.refractive_index(sugar) + index - refractometer.WATER_INDEX
    found = refractometer.present_gravity(original, reading(together), 1.0)
    assert found == pytest.approx(light, abs=0.0008)
