"""Water and sugar solutions against CoolProp, iapws, scipy and published tables."""

from __future__ import annotations

import pytest
from reference import IAPWS95, PropsSI, brentq
from uncertainties import ufloat

from reportgen.science import density

CHECKS = (
    "density.water_density",
    "density.solution_density",
    "density.hydrometer_correction",
    "density.extract_from_gravity",
    "density.cold_volume",
    "density.hot_volume",
)


def coolprop_density(t: float) -> float:
    return float(PropsSI("D", "T", t + 273.15, "P", 101325, "Water"))


@pytest.mark.parametrize("t", [0.5, 4, 10, 15.56, 20, 30, 40, 55, 66, 78, 90, 99.9])
def test_water_against_coolprop(t: float) -> None:
    # The reference equation describes ocean water, whose isotopes make it 0.003 kg/m3 heavier.
    assert density.water_density(t) == pytest.approx(coolprop_density(t), abs=0.007)


@pytest.mark.parametrize("t", [5, 25, 50, 75, 95])
def test_water_against_iapws95(t: float) -> None:
    reference = IAPWS95(T=t + 273.15, P=0.101325).rho
    assert density.water_density(t) == pytest.approx(reference, abs=0.007)


@pytest.mark.parametrize(
    ("gravity_at_15", "grams_in_100_ml"),
    [(1.0010, 0.26), (1.0050, 1.29), (1.0070, 1.81), (1.0100, 2.58), (1.0130, 3.36),
     (1.0150, 3.87), (1.0170, 4.39), (1.0190, 4.91)],
)  # fmt: skip
def test_solution_at_15_degrees_against_the_german_table(
    gravity_at_15: float, grams_in_100_ml: float
) -> None:
    # Extract from specific gravity 15/15 degC, reckoned by the Kaiserliche Normal-Eichungs-
    # Kommission from Plato's measurements (Table XIX of the wine regulations); g in 100 mL.
    water = density.water_density(15)
    extract = brentq(
        lambda p: density.solution_density(p, 15) / water - gravity_at_15, 0, 20, xtol=1e-10
    )
    found = extract / 100 * density.solution_density(extract, 15) / 10
    assert found == pytest.approx(grams_in_100_ml, abs=0.012)


@pytest.mark.parametrize("reading", [0.995, 1.005, 1.030, 1.048, 1.075, 1.100])
@pytest.mark.parametrize(("t", "reference"), [(10, 20), (30, 20), (20, 15.56), (40, 15.56)])
def test_hydrometer_floats_where_its_weight_is_displaced(
    reading: float, t: float, reference: float
) -> None:
    """A root of the balance found by scipy, with water from CoolProp and glass of 25e-6/K."""
    true = density.hydrometer_correction(reading, t, reference)
    extract = brentq(lambda p: density.gravity_from_extract(p) - true, -5, 40, xtol=1e-12)
    stem_volume = 1 + 25e-6 * (t - reference)
    weight_of_displaced = density.solution_density(extract, t) * stem_volume
    assert weight_of_displaced == pytest.approx(reading * coolprop_density(reference), abs=0.01)


@pytest.mark.parametrize("gravity", [0.99, 1.0, 1.008, 1.0483, 1.1, 1.2, 1.3])
def test_extract_against_scipy_root(gravity: float) -> None:
    root = brentq(lambda p: density.gravity_from_extract(p) - gravity, -5, 70, xtol=1e-13)
    assert density.extract_from_gravity(gravity) == pytest.approx(root, abs=1e-9)


@pytest.mark.parametrize("t", [30, 66, 78, 99])
def test_volumes_keep_the_mass_of_water(t: float) -> None:
    hot = density.hot_volume(25.0, t)
    assert hot * coolprop_density(t) == pytest.approx(25 * coolprop_density(20), rel=1e-5)
    assert density.cold_volume(hot, t) == pytest.approx(25.0, rel=1e-12)


def test_uncertainty_of_extract_is_the_slope_of_the_table() -> None:
    extract = density.extract_from_gravity(ufloat(1.048, 0.0005))
    slope = (density.extract_from_gravity(1.0485) - density.extract_from_gravity(1.0475)) / 0.001
    assert extract.std_dev == pytest.approx(0.0005 * slope, rel=1e-4)
    assert extract.nominal_value == density.extract_from_gravity(1.048)


def test_uncertainty_of_a_warm_hydrometer_reading() -> None:
    plain = density.hydrometer_correction
    by_reading = (plain(1.0501, 30, 20) - plain(1.0499, 30, 20)) / 0.0002
    by_temperature = (plain(1.05, 30.01, 20) - plain(1.05, 29.99, 20)) / 0.02
    of_reading = plain(ufloat(1.05, 0.0005), 30, 20).std_dev
    of_temperature = plain(1.05, ufloat(30, 1.0), 20).std_dev
    together = plain(ufloat(1.05, 0.0005), ufloat(30, 1.0), 20).std_dev
    assert of_reading == pytest.approx(0.0005 * by_reading, rel=1e-3)
    assert of_temperature == pytest.approx(by_temperature, rel=1e-3)
    assert together == pytest.approx((of_reading**2 + of_temperature**2) ** 0.5, rel=1e-6)
