"""Fermentation: curve and fit by scipy, heat by the enthalpies of formation of chemicals."""

from __future__ import annotations

import math

import numpy
import pytest
from chemicals import Hfg, Hfl, Hfs
from CoolProp.CoolProp import PropsSI
from molmass import Formula
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, curve_fit
from scipy.stats import logistic
from uncertainties import ufloat

from reportgen.science import density, fermentation

CHECKS = (
    "fermentation.final_gravity",
    "fermentation.logistic_gravity",
    "fermentation.fit_log",
    "fermentation.heat_of_fermentation",
    "fermentation.temperature_rise",
)

CURVES = [(1.048, 1.010, 24.0, 0.13), (1.075, 1.018, 60.0, 0.05), (1.036, 1.012, 15.0, 0.25)]


@pytest.mark.parametrize(("og", "fg", "midpoint", "rate"), CURVES)
@pytest.mark.parametrize("hours", [0, 12, 30, 72, 168])
def test_curve(og: float, fg: float, midpoint: float, rate: float, hours: float) -> None:
    """What is left to ferment is the survival function of the logistic spread, from t = 0 on."""
    spread = logistic(midpoint, 1 / rate)
    reference = fg + (og - fg) * spread.sf(hours) / spread.sf(0)
    ours = fermentation.logistic_gravity(hours, og, fg, midpoint, rate)
    assert ours == pytest.approx(reference, abs=1e-12)


@pytest.mark.parametrize(("og", "fg", "midpoint", "rate"), CURVES)
def test_curve_by_its_differential_equation(
    og: float, fg: float, midpoint: float, rate: float
) -> None:
    """A logistic curve falls as dx/dt = -B x (1 - x / a), x above the end, a its upper end."""
    upper = (og - fg) * (1 + math.exp(-rate * midpoint))

    def slope(_: float, x: list[float]) -> list[float]:
        return [-rate * x[0] * (1 - x[0] / upper)]

    found = solve_ivp(slope, (0, 100), [og - fg], t_eval=[20, 50, 100], rtol=1e-10, atol=1e-13)
    ours = [fermentation.logistic_gravity(t, og, fg, midpoint, rate) - fg for t in (20, 50, 100)]
    assert ours == pytest.approx(found.y[0], abs=1e-9)


WIDE = fermentation.Prior(30.0, 0.1, 1000.0)
"""Nothing known before, so that the readings alone decide."""


@pytest.mark.parametrize(("og", "fg", "midpoint", "rate"), CURVES)
@pytest.mark.parametrize("seed", [1, 2])
def test_fit(og: float, fg: float, midpoint: float, rate: float, seed: int) -> None:
    """Where nothing is known before, the fit is that of scipy's curve_fit, spread and all."""
    times = numpy.linspace(4, 3 * midpoint + 2 / rate, 12)
    noise = numpy.random.default_rng(seed).normal(0, 0.0004, 12)
    read = numpy.array([fermentation.logistic_gravity(t, og, fg, midpoint, rate) for t in times])
    read = read + noise
    u = math.hypot(0.001, 0.001) / 2

    def curve(t: numpy.ndarray, end: float, m: float, b: float) -> numpy.ndarray:
        return end + (og - end) * (1 + math.exp(-b * m)) / (1 + numpy.exp(b * (t - m)))

    found, covariance = curve_fit(
        curve, times, read, p0=[fg, midpoint, rate], sigma=[u] * 12, absolute_sigma=True
    )
    ours = fermentation.fit_log(list(times), list(read), 0.001, og, fg, 0.05, prior=WIDE)
    assert ours.fg == pytest.approx(found[0], abs=5e-5)
    assert ours.midpoint == pytest.approx(found[1], rel=5e-3)
    assert ours.rate == pytest.approx(found[2], rel=1e-2)
    assert ours.fg_u == pytest.approx(2 * math.sqrt(covariance[0, 0]), rel=0.05)
    assert ours.enough
    left = brentq(lambda t: curve(t, *found) - found[0] - 0.001, 1, 2000)
    assert ours.end_time == pytest.approx(left, rel=1e-2)
    residuals = read - curve(times, *found)
    assert ours.rmse == pytest.approx(math.sqrt((residuals**2).mean()), rel=0.02)


def test_end_time_uncertainty_covers_the_truth() -> None:
    """Of 40 noisy logs, at least 33 have the true end within U (k = 2 promises 95 %)."""
    og, fg, midpoint, rate = 1.048, 1.011, 26.0, 0.12
    times = [10.0, 20.0, 30.0, 42.0, 54.0, 70.0]
    truth = brentq(
        lambda t: fermentation.logistic_gravity(t, og, fg, midpoint, rate) - fg - 0.001, 1, 500
    )
    random = numpy.random.default_rng(7)
    inside = 0
    for _ in range(40):
        read = [
            fermentation.logistic_gravity(t, og, fg, midpoint, rate) + random.normal(0, 0.0005)
            for t in times
        ]
        fit = fermentation.fit_log(times, read, 0.001, og, 1.010)
        inside += abs(fit.end_time - truth) <= fit.end_time_u
    assert inside >= 33


def test_final_gravity_is_by_extract() -> None:
    end = fermentation.final_gravity(1.060, 0.75)
    share = density.extract_from_gravity(end) / density.extract_from_gravity(1.060)
    assert share == pytest.approx(0.25, abs=1e-9)


# Heat of dissolving sucrose and of mixing ethanol into much water, kJ/mol, after the CRC Handbook
# of Chemistry and Physics: the library has the pure substances only.
SUCROSE_DISSOLVES = 5.9
ETHANOL_MIXES = -10.6


def heat_of_sugar() -> float:
    """Heat of fermenting dissolved sucrose, kJ/kg: C12H22O11 + H2O = 4 C2H5OH + 4 CO2."""
    ethanol, gas = Hfl("64-17-5") / 1000, Hfg("124-38-9") / 1000
    sugar, water = Hfs("57-50-1") / 1000, Hfl("7732-18-5") / 1000
    change = 4 * (ethanol + ETHANOL_MIXES + gas) - (sugar + SUCROSE_DISSOLVES + water)
    return -change / Formula("C12H22O11").mass * 1000


def test_heat() -> None:
    # Sucrose gives 11 kJ/mol (5 %) more than maltose; the formula is good to 12 %.
    ours = fermentation.heat_of_fermentation(1.0)
    assert ours == pytest.approx(heat_of_sugar(), rel=0.12)


@pytest.mark.parametrize(("kilograms", "litres"), [(1.6, 20.0), (40.0, 500.0)])
def test_rise(kilograms: float, litres: float) -> None:
    """The same heat in as much water, which beer comes near to."""
    water = PropsSI("C", "T", 293.15, "P", 101325, "Water") / 1000
    mass = litres * PropsSI("D", "T", 293.15, "P", 101325, "Water") / 1000
    reference = heat_of_sugar() * kilograms / (mass * water)
    ours = fermentation.temperature_rise(kilograms, litres)
    assert ours == pytest.approx(reference, rel=0.12)


def test_uncertainty_is_carried() -> None:
    attenuation = fermentation.attenuation_with_mash_temperature(ufloat(0.77, 0.02), 68.0)
    assert attenuation.std_dev / attenuation.nominal_value == pytest.approx(0.02 / 0.77)
    warm = fermentation.attenuation_with_mash_temperature(0.77, ufloat(68.0, 0.5))
    up, down = (fermentation.attenuation_with_mash_temperature(0.77, t) for t in (68.05, 67.95))
    assert warm.std_dev == pytest.approx(abs(up - down) / 0.1 * 0.5, rel=1e-3)
