"""Fermentation: curve and fit by scipy, heat by the enthalpies of formation of chemicals."""

from __future__ import annotations

import math

import numpy
import pytest
from reference import Formula, Hfg, Hfl, Hfs, PropsSI, brentq, curve_fit

from reportgen.science import fermentation

CHECKS = (
    "fermentation.fit_log",
    "fermentation.heat_of_fermentation",
    "fermentation.temperature_rise",
)

CURVES = [(1.048, 1.010, 24.0, 0.13), (1.075, 1.018, 60.0, 0.05), (1.036, 1.012, 15.0, 0.25)]


def logistic(time: float, og: float, fg: float, midpoint: float, rate: float) -> float:
    """Gravity after some hours, on a logistic curve that starts at the original gravity."""
    at_start = 1 + math.exp(-rate * midpoint)
    return fg + (og - fg) * at_start / (1 + math.exp(rate * (time - midpoint)))


WIDE = fermentation.Prior(30.0, 0.1, 1000.0)
"""Nothing known before, so that the readings alone decide."""


@pytest.mark.parametrize(("og", "fg", "midpoint", "rate"), CURVES)
@pytest.mark.parametrize("seed", [1, 2])
def test_fit(og: float, fg: float, midpoint: float, rate: float, seed: int) -> None:
    """Where nothing is known before, the fit is that of scipy's curve_fit, spread and all."""
    times = numpy.linspace(4, 3 * midpoint + 2 / rate, 12)
    noise = numpy.random.default_rng(seed).normal(0, 0.0004, 12)
    read = numpy.array([logistic(t, og, fg, midpoint, rate) for t in times])
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
        lambda t: logistic(t, og, fg, midpoint, rate) - fg - 0.001, 1, 500
    )
    random = numpy.random.default_rng(7)
    inside = 0
    for _ in range(40):
        read = [
            logistic(t, og, fg, midpoint, rate) + random.normal(0, 0.0005)
            for t in times
        ]
        fit = fermentation.fit_log(times, read, 0.001, og, 1.010)
        inside += abs(fit.end_time - truth) <= fit.end_time_u
    assert inside >= 33


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
