"""Refraction of ethanol and sugar against handbook solutions, and Barth's formula of 1905."""

from __future__ import annotations

import pytest
from scipy.optimize import brentq

from reportgen.science import alcohol, density, refractometer

CHECKS = (
    "refractometer.alcohol_from_both",
    "refractometer.brix_from_index",
    "refractometer.fermenting_brix",
    "refractometer.present_gravity",
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


@pytest.mark.parametrize(("percent", "rho", "index"), ETHANOL)
def test_both_instruments_find_the_alcohol_of_a_spirit(
    percent: float, rho: float, index: float
) -> None:
    """The last figures of the handbook are worth 0.05 in density and 0.06 % in the index."""
    brix = refractometer.brix_from_index(index)
    beer = refractometer.alcohol_from_both(brix, rho / 0.9982, 1.0)
    assert beer.alcohol == pytest.approx(percent, abs=0.15)
    assert beer.real_extract == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize(
    ("original", "apparent"), [(10, 1), (11.5, 2), (12, 3), (12, 6), (15, 4), (18, 4)]
)
def test_both_instruments_against_barth(original: float, apparent: float) -> None:
    """G. Barth 1905: A = 759.8 (r - 1) - 292.3 (S - 1), r - 1 the excess of index over water.

    His constants are those of the linear rule, measured at 15 to 17.5 degC; they run 0.13 to
    0.26 % below the densities of today, nearly alike over all beers.
    """
    gravity = density.gravity_from_extract(apparent)
    brix = refractometer.fermenting_brix(original, apparent, 1.0)
    excess = refractometer.refractive_index(brix) - refractometer.WATER_INDEX
    barth = 759.8 * excess - 292.3 * (gravity - 1)
    found = refractometer.alcohol_from_both(brix, gravity, 1.0)
    assert found.alcohol == pytest.approx(barth, abs=0.3)
    assert found.original_extract == pytest.approx(original, abs=0.001)


@pytest.mark.parametrize("index", [1.3330, 1.3403, 1.35093, 1.36384, 1.38115])
def test_brix_against_scipy_root(index: float) -> None:
    root = brentq(lambda b: refractometer.refractive_index(b) - index, -4, 59, xtol=1e-12)
    assert refractometer.brix_from_index(index) == pytest.approx(root, abs=1e-7)


@pytest.mark.parametrize("original", [8.0, 12.0, 16.0, 20.0])
@pytest.mark.parametrize("factor", [1.0, 1.04])
def test_present_gravity_against_scipy_root(original: float, factor: float) -> None:
    brix = 0.55 * original
    apparent = brentq(
        lambda ae: refractometer.fermenting_brix(original, ae, factor) - brix, -3, original
    )
    expected = density.gravity_from_extract(apparent)
    assert refractometer.present_gravity(original, brix, factor) == pytest.approx(
        expected, abs=1e-8
    )


@pytest.mark.parametrize(
    ("gravity", "alcohol_mass", "extract"),
    [(1.0125, 3.83, 5.06), (1.0124, 3.90, 5.06), (1.0130, 3.69, 5.12), (1.0147, 3.63, 5.54),
     (1.0139, 3.16, 5.13), (1.0133, 5.14, 5.82), (1.0145, 5.31, 6.17), (1.0253, 5.32, 8.88),
     (1.0139, 4.79, 5.80), (1.0123, 5.10, 5.55), (1.0124, 4.91, 5.50)],
)  # fmt: skip
def test_extract_left_beside_the_alcohol_of_old_beers(
    gravity: float, alcohol_mass: float, extract: float
) -> None:
    """L. M. Tolman, J. G. Riley 1917, USDA Bulletin 493: Tables I, II, IV (gravity 15.6/15.6)
    and VII (alcohol by distillation and extract, % by mass)."""
    assert refractometer._real_plain(gravity, alcohol_mass) == pytest.approx(extract, abs=0.07)


def test_alcohol_module_agrees_with_the_rule_of_both_instruments() -> None:
    mass = alcohol._alcohol_by_density(12.0, float(density.gravity_from_extract(3.0)))
    assert refractometer._real_plain(
        float(density.gravity_from_extract(3.0)), mass
    ) == pytest.approx(12.0 * (1 + 0.010665 * mass) - 2.0665 * mass, abs=1e-8)
