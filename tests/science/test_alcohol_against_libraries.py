"""Alcohol: densities against CoolProp, mass balances with molar masses, analyses of old beers."""

from __future__ import annotations

import pytest
from reference import Formula, PropsSI, brentq
from uncertainties import ufloat

from reportgen.science import alcohol, density

CHECKS = (
    "alcohol.ethanol_water_density",
    "alcohol.alcohol_by_volume_densities",
)


def test_spirit_without_alcohol_is_water() -> None:
    reference = PropsSI("D", "T", 293.15, "P", 101325, "Water")
    assert alcohol.ethanol_water_density(0.0) == pytest.approx(reference, abs=0.02)


def test_spirit_without_water_is_ethanol() -> None:
    # The reference equation of ethanol is good to 0.2 % in density.
    reference = PropsSI("D", "T", 293.15, "P", 101325, "Ethanol")
    assert alcohol.ethanol_water_density(1.0) == pytest.approx(reference, rel=0.002)


def test_the_yield_of_brewers_lies_under_the_yield_of_the_chemist() -> None:
    """C12H22O11 + H2O gives 4 C2H5OH + 4 CO2: maltose to alcohol by molar mass.

    The 2.0665 g of extract for 1 g of alcohol counts as sucrose extract; a twentieth of
    it goes into yeast and by-products.
    """
    maltose = Formula("C12H22O11").mass
    ethanol = Formula("C2H6O").mass
    needed = maltose / (4 * ethanol)
    original, final = 1.048, 1.010
    extract = density.extract_from_gravity(original)
    eaten = extract - alcohol.real_extract(extract, density.extract_from_gravity(final))
    strength = alcohol.alcohol_by_volume_fermentation_balance(original, final)
    mass = strength * alcohol.ETHANOL_20 / (final * density.WATER_20)
    assert 1.0 < eaten / mass / needed < 1.15


@pytest.mark.parametrize(("original", "final"), [(1.036, 1.009), (1.048, 1.012), (1.075, 1.018)])
def test_density_model_against_a_scipy_root(original: float, final: float) -> None:
    """Sugar and spirit mixed by their own tables, each made up to the volume of the beer."""
    extract = density.extract_from_gravity(original)

    def excess(mass: float) -> float:
        real = extract * (1 + 0.010665 * mass) - 2.0665 * mass
        litre = final * density.WATER_20
        sugar = brentq(
            lambda p: p / 100 * density.solution_density(p, 20) - real / 100 * litre, -1, 30
        )
        spirit = brentq(
            lambda w: w * alcohol.ethanol_water_density(w) - mass / 100 * litre, 0, 0.3
        )
        water = alcohol.ethanol_water_density(0)
        return (
            density.gravity_from_extract(sugar)
            + alcohol.ethanol_water_density(spirit) / water
            - 1
            - final
        )

    mass = brentq(excess, 0.1, 0.48 * extract, xtol=1e-10)
    expected = mass * final * density.WATER_20 / 789.24
    assert alcohol.alcohol_by_volume_densities(original, final) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("model", sorted(alcohol.MODELS))
@pytest.mark.parametrize(
    ("gravity", "mass", "original"),
    [(1.0125, 3.83, 12.72), (1.0147, 3.63, 12.80), (1.0139, 3.16, 11.45), (1.0133, 5.14, 16.10),
     (1.0145, 5.31, 16.79), (1.0139, 4.79, 15.38), (1.0123, 5.10, 15.75)],
)  # fmt: skip
def test_models_against_old_beers(model: str, gravity: float, mass: float, original: float) -> None:
    """L. M. Tolman, J. G. Riley 1917, USDA Bulletin 493, Tables I, II, IV, VII.

    Alcohol by distillation, original extract as twice the alcohol and the extract; that is 3 %
    less than the balance reckons (2.0665), so the models may lie up to 0.4 % by mass above.
    """
    started = density.gravity_from_extract(original)
    by_volume = alcohol.MODELS[model](started, gravity)
    found = by_volume * alcohol.ETHANOL_20 / (gravity * density.WATER_20)
    assert -0.15 < found - mass < 0.4


def test_uncertainties_pass_through_every_model() -> None:
    started, ended = ufloat(1.048, 0.0005), ufloat(1.012, 0.0005)
    for name, model in alcohol.MODELS.items():
        strength = model(started, ended)
        assert strength.nominal_value == pytest.approx(model(1.048, 1.012), abs=1e-9), name
        assert strength.std_dev == pytest.approx(0.09, abs=0.01), name
    # The same reading twice is no attenuation, and certainly so.
    same = alcohol.MODELS[alcohol.DEFAULT](started, started)
    assert same.std_dev == pytest.approx(0, abs=1e-12)
