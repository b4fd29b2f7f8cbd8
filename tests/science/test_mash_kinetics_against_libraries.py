"""The whole mash: the same equations integrated by scipy, causes spread by hand and by library."""

from __future__ import annotations

import math

import numpy
import pytest
from reference import solve_ivp
from uncertainties import ufloat

from reportgen.science.mash_kinetics import (
    amylases_left,
    mash_change,
    mash_course,
    mash_result,
    mash_spread,
    starch_gelatinised,
)

CHECKS = (
    "mash_kinetics.amylases_left",
    "mash_kinetics.starch_gelatinised",
    "mash_kinetics.mash_course",
    "mash_kinetics.mash_result",
    "mash_kinetics.mash_change",
    "mash_kinetics.mash_spread",
)

GAS = 8.314


def arrhenius(level: float, energy: float, celsius: float) -> float:
    """A rate per min, from its level at 65 degC."""
    return level * math.exp(energy / GAS * (1 / 338.15 - 1 / (celsius + 273.15)))


def opening(celsius: float) -> float:
    """Gelatinisation per min, as the page prints it."""

    def cool(t: float) -> float:
        return 60 * 5.7e31 * math.exp(-220600 / (GAS * (t + 273.15)))

    def warm(t: float) -> float:
        return 60 * 3.1e14 * math.exp(-108300 / (GAS * (t + 273.15)))

    if celsius <= 59:
        return cool(celsius)
    if celsius >= 61:
        return warm(celsius)
    return float(numpy.exp(numpy.interp(celsius, [59, 61], numpy.log([cool(59), warm(61)]))))


def integrated(profile: list[tuple[float, float]]) -> tuple[float, float]:
    """Starch left and limit of attenuation, by scipy from one point to the next."""
    state = numpy.array([1.0, 0.0, 0.0, 1.0, 1.0])
    for (start, low), (end, high) in zip(profile, profile[1:], strict=False):
        if end == start:
            continue

        def slope(t, y, start=start, end=end, low=low, high=high):
            celsius = low + (high - low) * (t - start) / (end - start)
            granules, paste, sugars, alpha, beta = y
            opened = opening(celsius) * granules
            liquefied = arrhenius(3.0, 45e3, celsius) * alpha * paste
            power = (
                arrhenius(0.5576, 17e3, celsius) * beta + arrhenius(0.0500, 45e3, celsius) * alpha
            )
            room = max(0.0, 0.7375 * (1 - granules - paste) - sugars)
            return [
                -opened,
                opened - liquefied,
                power * room,
                -arrhenius(0.00962, 224.2e3, celsius) * alpha,
                -arrhenius(0.1641, 410.7e3, celsius) * beta,
            ]

        run = solve_ivp(slope, (start, end), state, method="LSODA", rtol=1e-7, atol=1e-10)
        state = run.y[:, -1]
    starch = state[0] + state[1]
    sugars = 0.10 + 0.79 * state[2]
    return starch, sugars / (0.21 + 0.79 * (1 - starch)) / 0.8192


PROFILES = {
    "single": [(0, 66), (60, 66)],
    "short and hot": [(0, 75), (20, 75)],
    "52, 66, mash-out": [(0, 52), (20, 52), (34, 66), (94, 66), (104, 77), (114, 77)],
    "62, 72": [(0, 62), (40, 62), (50, 72), (70, 72)],
    "infusion": [(0, 45), (15, 45), (15, 68), (75, 68)],
    "cools in the tun": [(0, 67), (30, 65.8), (90, 63.5), (600, 50)],
    "congress": [(0, 45), (30, 45), (55, 70), (115, 70)],
    "never warm": [(0, 30), (120, 30)],
    "scalded": [(0, 88), (30, 88)],
}


@pytest.mark.parametrize("name", PROFILES)
def test_a_mash_integrated_in_time(name: str) -> None:
    profile = PROFILES[name]
    starch, attenuation = integrated(profile)
    end = mash_course(profile)[-1]
    # A tenth of the uncertainty stated is left to the fixed steps.
    assert end.starch == pytest.approx(starch, abs=0.01)
    assert end.attenuation == pytest.approx(attenuation, abs=0.004)
    assert mash_result(profile).attenuation == pytest.approx(end.attenuation, abs=1e-12)


@pytest.mark.parametrize("celsius", [55.0, 60.0, 65.0, 72.0, 78.0])
def test_one_rest_by_scipy(celsius: float) -> None:
    run = solve_ivp(
        lambda _, y: [
            -arrhenius(0.00962, 224.2e3, celsius) * y[0],
            -arrhenius(0.1641, 410.7e3, celsius) * y[1],
            opening(celsius) * (1 - y[2]),
        ],
        (0, 20), [1, 1, 0], method="LSODA", rtol=1e-9, atol=1e-12,
    )  # fmt: skip
    alpha, beta, gelatinised = run.y[:, -1]
    assert amylases_left(celsius, 20) == pytest.approx((alpha, beta), abs=1e-6)
    assert starch_gelatinised(celsius, 20) == pytest.approx(gelatinised, abs=1e-6)


def test_levels_are_those_of_the_source() -> None:
    """6.9e30 per s and 224.2 kJ/mol, 7.6e60 per s and 410.7 kJ/mol."""
    alpha = 60 * 6.9e30 * numpy.exp(-224200 / (GAS * 338.15))
    beta = 60 * 7.6e60 * numpy.exp(-410700 / (GAS * 338.15))
    assert amylases_left(65.0, 10.0) == pytest.approx(
        (numpy.exp(-10 * alpha), numpy.exp(-10 * beta)), rel=0.001
    )


def test_what_a_mash_out_did_by_scipy() -> None:
    profile = [(0.0, 67.0), (15.0, 67.0), (25.0, 77.0), (40.0, 77.0)]
    before, after = integrated(profile[:2]), integrated(profile)
    change = mash_change(profile, 15.0)
    assert change.unconverted == pytest.approx(before[0], abs=0.005)
    assert change.before == pytest.approx(before[1], abs=0.004)
    assert change.after == pytest.approx(after[1], abs=0.004)
    assert change.change == pytest.approx(after[1] - before[1], abs=0.006)


def test_uncertainty_is_that_of_many_mashes() -> None:
    """Causes drawn by numpy, against linear propagation."""
    profile = [(0.0, 67.0), (60.0, 67.0)]
    spread = mash_spread(profile)
    shaken = ufloat(67.0, 0.3)
    carried = mash_result(
        [(0.0, shaken), (60.0, shaken)],
        ufloat(1.0, spread.activity),
        ufloat(0.0, spread.heat_shift),
        ufloat(0.0, spread.starch_shift),
        ufloat(0.0, spread.model),
    ).attenuation
    draw = numpy.random.default_rng(1).normal
    found = [
        mash_result(
            [(0.0, t), (60.0, t)], draw(1, spread.activity), draw(0, spread.heat_shift),
            draw(0, spread.starch_shift), draw(0, spread.model),
        ).attenuation
        for t in draw(67, 0.3, 600)
    ]  # fmt: skip
    assert carried.std_dev == pytest.approx(float(numpy.std(found)), rel=0.1)
