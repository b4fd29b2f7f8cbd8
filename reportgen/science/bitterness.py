"""Bitterness: how much of the alpha acids of hops becomes iso-alpha acids in the beer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from reportgen.science.method import method
from reportgen.science.number import Number, exp, log, nominal

Profile = Sequence[tuple[Number, Number]]
"""Steps of (minutes, degC) that an addition goes through, in order."""

SHARE_LEFT = 0.6
"""Share of the iso-alpha acids formed that is left in the beer. A. Justus 2018 (MBAA Tech. Q.
55(3):67) found 44.0 % in the kettle after 60 min, where the kinetics give 47.6 %, and lost 33.7 %
of it in the cellar: 0.92 * 0.66."""

BOIL_FROM = 85.0
"""A first step cooler than this cannot be a boil, degC; water boils at 85 degC at 4,500 m."""

_KELVIN = 273.15

_INSTANT = 1e-9
"""Shorter than any step, min: the rounding of a boil that is given in pieces."""


@method
def utilisation_by_time_and_gravity(gravity: Number, time: Number) -> Number:
    """Utilisation of boiled hops from the time of the boil and the gravity of the wort.

    A fit to brews of small kettles; its data were not published. What trub, yeast and foam take is
    counted in.

    Formula:
        u = 1.65 * 0.000125^(SG - 1) (1 - exp(-0.04 t)) / 4.15
    Inputs:
        gravity: SG, 0.99 to 1.2 (trusted 1.03 to 1.13); mean of the boil
        time: min, 0 to 600 (trusted 0 to 120); hops in boiling wort
    Result: fraction of the alpha acids that is found as bitterness in the beer
    Uncertainty: U = 20 % of the value, the spread between houses and published models
    Source: G. Tinseth 1997, Hop utilization numbers; table of it in J. Palmer 1999, How to Brew,
        ch. 5.5, Table 7
    """
    strength = 1.65 * 0.000125 ** (gravity - 1.0)
    return strength * (1.0 - exp(-0.04 * time)) / 4.15


@method
def isomerisation_rates(temperature: Number) -> tuple[Number, Number]:
    """Rates at which alpha acids isomerise and iso-alpha acids are lost again.

    Formula:
        k1 = 7.9e11 exp(-11858/T); k2 = 4.1e12 exp(-12994/T); T in K
    Inputs:
        temperature: degC, 0 to 140 (trusted 90 to 130); of the wort
    Result: (k1, k2) per min
    Uncertainty: as the scatter: U = 10 % of each within 90 to 130 degC, from the printed digits too
    Source: M.G. Malowicki and T.H. Shellhammer 2005, J. Agric. Food Chem. 53(11):4434,
        doi 10.1021/jf0481296
    """
    kelvin = temperature + _KELVIN
    return 7.9e11 * exp(-11858.0 / kelvin), 4.1e12 * exp(-12994.0 / kelvin)


def _step(
    alpha: Number, iso: Number, minutes: Number, temperature: Number
) -> tuple[Number, Number]:
    """Return (alpha, iso-alpha) after a time at one temperature, from what there was before."""
    k1, k2 = isomerisation_rates(temperature)
    kept, lost = exp(-k1 * minutes), exp(-k2 * minutes)
    return alpha * kept, iso * lost + alpha * k1 / (k2 - k1) * (kept - lost)


def _hold(minutes: Number) -> None:
    if not nominal(minutes) >= 0:
        raise ValueError("a step of the profile lasts less than no time")


@method
def utilisation_by_isomerisation(profile: Profile, losses: Number = SHARE_LEFT) -> Number:
    """Utilisation by the rates of isomerisation, over boil, steep and cooling.

    Each step is solved exactly at its temperature, so a cooling curve is given as some steps.

    Formula:
        da/dt = -k1 a; di/dt = k1 a - k2 i; a(0) = 1, i(0) = 0; u = losses i(end)
    Inputs:
        profile: pairs of min and degC; steps from the addition to the end of cooling
        losses: fraction, 0 to 1 (trusted 0.4 to 0.8); what is left in the beer of what is formed
    Result: fraction of the alpha acids that is found as iso-alpha acids in the beer
    Uncertainty: U = 32 % of the value, 10 from the kinetics and 30 from the losses unless the house
        has measured
    Source: M.G. Malowicki and T.H. Shellhammer 2005, J. Agric. Food Chem. 53(11):4434,
        doi 10.1021/jf0481296; share left after A. Justus 2018, MBAA Tech. Q. 55(3):67
    """
    alpha: Number = 1.0
    iso: Number = 0.0
    for minutes, temperature in profile:
        _hold(minutes)
        alpha, iso = _step(alpha, iso, minutes, temperature)
    return losses * iso


@method
def boiling_equivalent(temperature: Number, time: Number) -> Number:
    """Time at 100 degC that isomerises as much as a time in cooler wort.

    Formula:
        t100 = t k1(T) / k1(100 degC)
    Inputs:
        temperature: degC, 0 to 140 (trusted 90 to 130); of the wort
        time: min, 0 to 6000 (trusted 0 to 360)
    Result: min at 100 degC
    Uncertainty: U = 20 % of the value, at 80 degC, where the rate is extrapolated; 10 % at 90 degC
    Source: rates of M.G. Malowicki and T.H. Shellhammer 2005, J. Agric. Food Chem. 53(11):4434,
        doi 10.1021/jf0481296
    """
    return time * exp(-11858.0 / (temperature + _KELVIN) + 11858.0 / (100.0 + _KELVIN))


def _after_boil(minutes: Number, profile: Profile) -> list[tuple[Number, Number]]:
    """Return the steps of a profile that come after its first ``minutes``, the boil.

    Raises ValueError when the profile does not start with so long a boil.
    """
    left = nominal(minutes)
    rest: list[tuple[Number, Number]] = []
    for duration, temperature in profile:
        _hold(duration)
        taken = min(left, nominal(duration)) if left > _INSTANT else 0.0
        if taken > _INSTANT and nominal(temperature) < BOIL_FROM:
            raise ValueError("the profile does not start with the boil")
        left -= taken
        if nominal(duration) - taken > _INSTANT:
            rest.append((duration - taken, temperature))
    if left > _INSTANT:
        raise ValueError("the profile is shorter than the boil")
    return rest


@method
def time_and_gravity(
    gravity: Number, minutes: Number, profile: Profile, boiling_point: Number = 100.0
) -> Number:
    """Utilisation of one addition by time and gravity, steep and cooling counted in.

    What comes after the boil counts as the time at boiling that isomerises as much, and so does
    the boil itself where water boils below 100 degC.

    Formula:
        u = utilisation_by_time_and_gravity(SG, sum of t k1(T) / k1(100 degC) over boil, steep
        and cooling)
    Inputs:
        gravity: SG, 0.99 to 1.2 (trusted 1.03 to 1.13); mean of the boil
        minutes: min, 0 to 600 (trusted 0 to 120); boil, 0 for hops that are only steeped
        profile: pairs of min and degC; all steps from the addition to the end of cooling, the boil
            first
        boiling_point: degC, 60 to 130 (trusted 90 to 103); of the wort, 100 is near the sea
    Result: fraction of the alpha acids that is found as bitterness in the beer
    Uncertainty: U = 20 % of the value, boiled; 40 % steeped
    Source: G. Tinseth 1997, Hop utilization numbers; rates of M.G. Malowicki and
        T.H. Shellhammer 2005, J. Agric. Food Chem. 53(11):4434, doi 10.1021/jf0481296
    """
    after = _after_boil(minutes, profile)
    boil = boiling_equivalent(boiling_point, minutes)
    equivalent = boil + sum(boiling_equivalent(t, time) for time, t in after)
    return utilisation_by_time_and_gravity(gravity, equivalent)


@method
def isomerisation(gravity: Number, minutes: Number, profile: Profile) -> Number:
    """Utilisation of one addition by the rates of isomerisation.

    The gravity is taken to make no difference: in the study glucose and maltose at 10 degP did
    not change the rates.

    Formula:
        u = losses i(end), the rates integrated over the profile
    Inputs:
        gravity: SG, 0.99 to 1.2 (trusted 1.0 to 1.06); not used
        minutes: min, 0 to 600 (trusted 0 to 360); boil, 0 for hops that are only steeped
        profile: pairs of min and degC; all steps from the addition to the end of cooling, the boil
            first
    Result: fraction of the alpha acids that is found as iso-alpha acids in the beer
    Uncertainty: U = 32 % of the value, 10 from the kinetics and 30 from the losses unless the house
        has measured
    Source: M.G. Malowicki and T.H. Shellhammer 2005, J. Agric. Food Chem. 53(11):4434,
        doi 10.1021/jf0481296; share left after A. Justus 2018, MBAA Tech. Q. 55(3):67
    """
    _after_boil(minutes, profile)
    return utilisation_by_isomerisation(profile)


MODELS: Mapping[str, Callable[[Number, Number, Profile], Number]] = {
    "time_and_gravity": time_and_gravity,
    "isomerisation": isomerisation,
}
"""Utilisation models: gravity, minutes of boil, the whole profile with the boil first."""

DEFAULT = "time_and_gravity"
# It gives what is found in the beer, from both things that plans differ in, and is of small
# kettles, though its data were never published. The rates of isomerisation have the better data (a
# reviewed study, 90 to 130 degC), but end at the kettle: the share left in the beer comes from one
# brewery of 60 hL, and in the study sugar made no difference. At 60 min and 1.050 the two give 0.23
# and 0.29, which is less apart than their U together; that brewery measured 0.29 (44.0 % less
# 33.7 %). If you have a bitterness factor from analyses of your own beers, take the rates.


@method
def bitterness(alpha: Number, grams: Number, utilisation: Number, volume: Number) -> Number:
    """Bitterness that one hop addition brings.

    Formula:
        B = 1000 a m u / V
    Inputs:
        alpha: fraction, 0 to 0.7 (trusted 0 to 0.25); alpha acids of the hops as weighed
        grams: g, 0 to 100000
        utilisation: fraction, 0 to 1 (trusted 0 to 0.5)
        volume: L, 0.1 to 10000; wort at 20 degC at the end of the boil
    Result: mg/L iso-alpha acids
    Uncertainty: as that of the utilisation; alpha acids are analysed to about 5 %
    Source: mass balance; worked in J. Palmer 1999, How to Brew, ch. 5.5
    """
    return 1000.0 * alpha * grams * utilisation / volume


PACKING: Mapping[str, float] = {"open": 1.0, "sealed": 0.75, "without_oxygen": 0.5}
"""How fast alpha acids go by how hops are packed, over open air (M. Garetz 1994): a bag that air
passes or that is open; a barrier with air in it; vacuum or inert gas in a barrier."""

UNKNOWN_LOSS, UNKNOWN_LOSS_U = 0.35, 0.20
"""Loss in 180 days at 20 degC in open air when the variety is not known, with U (k = 2): varieties
lose 0.15 to 0.6 (M. Garetz 1994, table)."""


@method
def hop_storage_alpha(
    alpha_now: Number,
    loss_rate: Number,
    temperature: Number,
    days: Number,
    packing: Number = 1.0,
) -> Number:
    """Alpha acids of hops after storage.

    Formula:
        a = a0 exp(-k f p d); k = -ln(1 - loss) / 180; f = 2^((T - 20)/15)
    Inputs:
        alpha_now: fraction, 0 to 0.7 (trusted 0 to 0.25); alpha acids at the last analysis
        loss_rate: fraction, 0 to 0.95 (trusted 0.1 to 0.7); lost in 180 days at 20 degC, a
            property of the variety
        temperature: degC, -40 to 40 (trusted -20 to 20); of the store
        days: d, 0 to 3650 (trusted 0 to 730); since the last analysis
        packing: 1, 0 to 1 (trusted 0.5 to 1); 1 open to air, 0.75 in a barrier with air, 0.5
            without oxygen
    Result: fraction of alpha acids now
    Uncertainty: as the loss, U = 15 % of it at 20 degC, 30 % elsewhere
    Source: M. Garetz 1994, Brewing Techniques 2(1), Hop storage, with table; first-order loss of
        C.P. Green 1978, J. Inst. Brew. 84:312
    """
    rate = -log(1.0 - loss_rate) / 180.0
    warmth = 2.0 ** ((temperature - 20.0) / 15.0)
    return alpha_now * exp(-rate * warmth * packing * days)


@method
def hop_alpha_stored(
    alpha: Number, stays: Sequence[tuple[Number, Number, str]], loss_rate: Number = UNKNOWN_LOSS
) -> Number:
    """Alpha acids of hops after stays in several stores and packings, one after another.

    Formula:
        hop_storage_alpha for each stay, what it leaves is what the next begins with
    Inputs:
        alpha: fraction, 0 to 0.7 (trusted 0 to 0.25); alpha acids at the last analysis
        stays: days; triples of d, degC and a key of PACKING, in order
        loss_rate: fraction, 0 to 0.95 (trusted 0.1 to 0.7); lost in 180 days at 20 degC in open
            air, a property of the variety
    Result: fraction of alpha acids now
    Uncertainty: as the loss, U = 15 % of it at 20 degC, 30 % elsewhere; a loss of 0.35 that is only
        assumed has U = 0.20
    Source: M. Garetz 1994, Brewing Techniques 2(1), Hop storage, with table; first-order loss of
        C.P. Green 1978, J. Inst. Brew. 84:312
    """
    for days, temperature, packing in stays:
        if packing not in PACKING:
            raise ValueError(f"no packing of hops is called {packing}")
        alpha = hop_storage_alpha(alpha, loss_rate, temperature, days, PACKING[packing])
    return alpha
