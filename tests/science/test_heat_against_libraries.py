"""Heat balances redone with the enthalpy of water by CoolProp, iapws, fluids, scipy and pint."""

from __future__ import annotations

import pytest
from reference import PINT, PropsSI, brentq, solve_ivp
from uncertainties import ufloat

from reportgen.science import heat

CHECKS = (
    "heat.strike_temperature",
    "heat.mash_temperature_from_strike",
    "heat.infusion_liquor",
    "heat.direct_heat_energy",
    "heat.heating_time",
    "heat.decoction_fraction",
    "heat.decoction_volume",
    "heat.liquor_mass",
    "heat.liquor_volume",
    "heat.mash_cooling",
)


def enthalpy(t: float) -> float:
    """kJ/kg of water."""
    return float(PropsSI("H", "T", t + 273.15, "P", 101325, "Water")) / 1000


STRIKES = [  # grist kg, liquor kg, mash, malt, tun kJ/K, tun degC, slaking kJ/kg
    (5, 12.5, 66, 20, 0, 20, 0),
    (50, 125, 67, 15, 0, 15, 0),
    (20, 50, 65, 12, 30, 12, 0),
    (5, 12.5, 66, 20, 0, 20, 15),
    (4, 20, 52, 18, 6, 18, 0),
    (10, 22, 72, 5, 15, 5, 20),
]


@pytest.mark.parametrize(("m", "w", "mash", "malt", "tun", "cold", "slaking"), STRIKES)
def test_strike(
    m: float, w: float, mash: float, malt: float, tun: float, cold: float, slaking: float
) -> None:
    def surplus(strike: float) -> float:
        given = w * (enthalpy(strike) - enthalpy(mash)) + slaking * m
        return given - m * 1.67 * (mash - malt) - tun * (mash - cold)

    expected = brentq(surplus, mash - 5, 99.5)
    found = heat.strike_temperature(
        m, w, mash, malt, tun_heat_capacity=tun, tun_temperature=cold, slaking_heat=slaking
    )
    # The constant heat capacity of water is worth 0.3 % of what the liquor loses.
    assert found == pytest.approx(expected, abs=0.003 * (expected - mash) + 0.003)
    back = heat.mash_temperature_from_strike(
        m, w, found, malt, tun_heat_capacity=tun, tun_temperature=cold, slaking_heat=slaking
    )
    assert back == pytest.approx(mash, abs=1e-9)


STEPS = [(66, 76, 99, 5, 12.5, 0), (52, 66, 99, 5, 10, 8), (65, 72, 90, 40, 110, 60),
         (70, 65, 15, 10, 30, 0)]  # fmt: skip


@pytest.mark.parametrize(("now", "target", "liquor", "m", "w", "tun"), STEPS)
def test_infusion(now: float, target: float, liquor: float, m: float, w: float, tun: float) -> None:
    taken = (
        m * 1.67 * (target - now) + w * (enthalpy(target) - enthalpy(now)) + tun * (target - now)
    )
    expected = taken / (enthalpy(liquor) - enthalpy(target))
    found = heat.infusion_liquor(now, target, liquor, m, w, tun)
    assert found == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize(("now", "target", "m", "w"), [(52, 66, 50, 150), (66, 76, 5, 12.5)])
def test_direct_heat(now: float, target: float, m: float, w: float) -> None:
    expected = m * 1.67 * (target - now) + w * (enthalpy(target) - enthalpy(now))
    energy = heat.direct_heat_energy(now, target, m, w)
    assert energy == pytest.approx(expected, rel=0.005)
    time = (energy * PINT.kJ / (0.85 * 2.5 * PINT.kW)).to("min").magnitude
    assert heat.heating_time(energy, 2.5, 0.85) == pytest.approx(time, rel=1e-12)


@pytest.mark.parametrize("t", [5, 20, 66, 80, 99])
def test_liquor_by_weight_and_measure(t: float) -> None:
    rho = PropsSI("D", "T", t + 273.15, "P", 101325, "Water") * PINT.kg / PINT.m**3
    assert heat.liquor_mass(15.0, t) == pytest.approx(
        (15 * PINT.L * rho).to("kg").magnitude, rel=1e-5
    )
    assert heat.liquor_volume(15.0, t) == pytest.approx(
        (15 * PINT.kg / rho).to("L").magnitude, rel=1e-5
    )


@pytest.mark.parametrize(("now", "target", "boiled"), [(52, 64, 99), (66, 76, 98), (40, 52, 100)])
def test_decoction_by_mixing_what_was_boiled(now: float, target: float, boiled: float) -> None:
    share = heat.decoction_fraction(now, target, boiled)
    mixed = brentq(
        lambda t: (
            share * (enthalpy(min(boiled, 99.95)) - enthalpy(t))
            - (1 - share) * (enthalpy(t) - enthalpy(now))
        ),
        now,
        boiled,
    )
    assert mixed == pytest.approx(target, abs=0.25)


@pytest.mark.parametrize("thickness", [None, 1.5, 2.5, 4.0])
@pytest.mark.parametrize(("now", "target", "boiled"), [(50, 64, 99.9), (64, 73, 98)])
def test_decoction_drawn_by_enthalpies(
    thickness: float | None, now: float, target: float, boiled: float
) -> None:
    """Grist and liquor of the drawn part cool to the target, the rest warms up to it."""
    grist, liquor = 20.0, 60.0
    volume, taken = heat.decoction_volume(grist, liquor, now, target, boiled, thickness)
    density = PropsSI("D", "T", 293.15, "P", 101325, "Water") / 1000
    drawn = (volume - 0.67 * taken) * density
    if thickness is not None:
        assert drawn / taken == pytest.approx(thickness, rel=1e-4)

    def surplus(t: float) -> float:
        given = drawn * (enthalpy(boiled) - enthalpy(t)) + taken * 1.67 * (boiled - t)
        warmed = (liquor - drawn) * (enthalpy(t) - enthalpy(now))
        return given - warmed - (grist - taken) * 1.67 * (t - now)

    assert brentq(surplus, now, boiled) == pytest.approx(target, abs=0.2)


def test_a_thick_decoction_is_larger_and_more_than_there_is_is_refused() -> None:
    thick, _ = heat.decoction_volume(20, 60, 50, 64, 100, 1.5)
    same, _ = heat.decoction_volume(20, 60, 50, 64, 100, 3.0)
    thin, none = heat.decoction_volume(20, 60, 50, 64, 100)
    assert thick > same > thin and none == 0.0
    assert same == pytest.approx(0.28 * heat.mash_volume(20, 60), rel=0.002)
    with pytest.raises(ValueError, match="does not hold so much"):
        heat.decoction_volume(20, 60, 30, 90, 100, 1.0)


@pytest.mark.parametrize(("rate", "minutes"), [(0.05, 60), (0.3, 90), (1.0, 30)])
def test_cooling_integrated_in_time(rate: float, minutes: float) -> None:
    run = solve_ivp(
        lambda _, t: -rate / 60 * (t - 18), (0, minutes), [67.0], rtol=1e-10, atol=1e-10
    )
    found = heat.mash_cooling(67, 18, rate, minutes)
    assert found == pytest.approx(float(run.y[0, -1]), abs=1e-6)


def test_uncertainties_of_a_strike() -> None:
    strike = heat.strike_temperature(5, 12.5, 66, ufloat(20, 2.0), ufloat(1.67, 0.1))
    assert strike.nominal_value == pytest.approx(heat.strike_temperature(5, 12.5, 66, 20))
    assert 0.4 < strike.std_dev < 0.7
