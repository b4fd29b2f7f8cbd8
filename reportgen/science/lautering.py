"""Running off the mash: first wort, wort held back, recovery, gravity of the runnings.

Two quantities are easily mixed up and are kept apart here by name. *Hold-up* is the wort that
stays in the drained grains. *Water shortfall* is the liquor that went in less the wort that came
out, a litre for a kilogram of grist; it is smaller, since the extract has volume too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from reportgen.science.density import WATER_20, gravity_from_extract
from reportgen.science.extract import extract_mass, gravity_from_extract_mass, gravity_of_mix
from reportgen.science.method import method
from reportgen.science.number import Number, carried, exp, flat, nominal

VOLUME_OF_DISSOLVED_EXTRACT = 0.617
"""Litres that a kilogram of dissolved extract adds to wort (ICUMSA SPS-4, 0.615 to 0.619)."""


@method
def first_wort_extract(
    extract_as_is: Number, conversion: Number, liquor_to_grist: Number, moisture: Number
) -> Number:
    """Extract of the first wort, before any sparge.

    Formula:
        P = 100 e k / (e k + R + mo)
    Inputs:
        extract_as_is: kg/kg, 0 to 1; laboratory extract of the grist as weighed
        conversion: kg/kg, 0 to 1.1 (trusted 0.5 to 1.02)
        liquor_to_grist: kg/kg, 0.8 to 20 (trusted 1.8 to 8)
        moisture: kg/kg, 0 to 0.20
    Result: P
    Uncertainty: U = 0.1 P from water bound by hydrolysis, which is inside the laboratory extract;
        with U = 0.005 in the extract and 0.02 in the conversion it is 0.4 P
    Source: the laboratory formula e = P (M + 800)/(100 - P) turned round: ASBC Methods of
        Analysis, Malt-4; EBC Analytica 4.5.1
    """
    dissolved = extract_as_is * conversion
    return 100.0 * dissolved / (dissolved + liquor_to_grist + moisture)


@method
def conversion_from_first_wort(
    first_wort_extract: Number, extract_as_is: Number, liquor_to_grist: Number, moisture: Number
) -> Number:
    """Share of the laboratory extract that has dissolved, from the first wort as measured.

    Sample before any sparge, from a well stirred mash.

    Formula:
        k = P (R + mo) / ((100 - P) e)
    Inputs:
        first_wort_extract: P, 0 to 50 (trusted 5 to 30)
        extract_as_is: kg/kg, 0.05 to 1
        liquor_to_grist: kg/kg, 0.8 to 20 (trusted 1.8 to 8)
        moisture: kg/kg, 0 to 0.20
    Result: kg/kg; above 1.02 is a mistake in a weight or a reading
    Uncertainty: as reading and extract: U = 0.02 for 0.2 P in the one and 0.005 in the other
    Source: ASBC Methods of Analysis, Malt-4; EBC Analytica 4.5.1
    """
    return (
        first_wort_extract
        * (liquor_to_grist + moisture)
        / ((100.0 - first_wort_extract) * extract_as_is)
    )


@method
def tun_wort_volume(
    grist: Number, extract_as_is: Number, conversion: Number, moisture: Number, liquor: Number
) -> Number:
    """Volume of wort in the mash tun, in the grains and round them, before run-off.

    Formula:
        V0 = (E + W + m mo) / (rho(P)/1000), E = m e k, W = L rho_water(20)/1000
    Inputs:
        grist: kg, 0 to 2000
        extract_as_is: kg/kg, 0 to 1
        conversion: kg/kg, 0 to 1.1 (trusted 0.5 to 1.02)
        moisture: kg/kg, 0 to 0.20
        liquor: L, 0.001 to 20000; at 20 degC
    Result: L at 20 degC
    Uncertainty: U = 0.5 % of the value
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    extract = grist * extract_as_is * conversion
    mass = extract + liquor * WATER_20 / 1000.0 + grist * moisture
    gravity = gravity_from_extract(100.0 * extract / mass)
    return mass / (gravity * WATER_20 / 1000.0)


@method
def hold_up(
    grist: Number,
    grain_absorption: Number,
    extract_as_is: Number,
    conversion: Number,
    moisture: Number,
) -> Number:
    """Wort that stays in the drained grains.

    Formula:
        H = m (A + 0.617 e k + mo)
    Inputs:
        grist: kg, 0 to 2000
        grain_absorption: L/kg, -0.6 to 3 (trusted 0.1 to 1.6); liquor in less wort out, for
            each kg of grist, without sparge, all at 20 degC
        extract_as_is: kg/kg, 0 to 1
        conversion: kg/kg, 0 to 1.1 (trusted 0.5 to 1.02)
        moisture: kg/kg, 0 to 0.20
    Result: L at 20 degC
    Uncertainty: U = 2 % of grist, in L, from the formula; 0.2 L/kg from a shortfall that is not
        one's own
    Source: volume balance; volume of dissolved extract by ICUMSA SPS-4 (1998)
    """
    dissolved = VOLUME_OF_DISSOLVED_EXTRACT * extract_as_is * conversion
    return grist * (grain_absorption + dissolved + moisture)


def _check_hold_up(wort_volume: Number, held: Number) -> None:
    if nominal(held) > nominal(wort_volume):
        raise ValueError(
            f"the grains would hold {nominal(held):.3g} L, more than the "
            f"{nominal(wort_volume):.3g} L of wort in the tun"
        )


@method
def recovery_no_sparge(wort_volume: Number, hold_up: Number) -> Number:
    """Share of the dissolved extract that runs off when the mash is drained only.

    Formula:
        eta = 1 - H/V0
    Inputs:
        wort_volume: L, 0.001 to 20000; in the tun before run-off, at 20 degC
        hold_up: L, 0 to 20000; left in the drained grains
    Result: kg/kg
    Uncertainty: that of the hold-up over the wort volume; commonly 0.03
    Source: mass balance
    """
    _check_hold_up(wort_volume, hold_up)
    return 1.0 - hold_up / wort_volume


@method
def recovery_in_batches(
    wort_volume: Number, hold_up: Number, batch_volumes: Sequence[Number]
) -> Number:
    """Share of the dissolved extract that runs off with sparges in batches.

    Each sparge is stirred into the drained grains and run off again. Equal runnings recover
    most.

    Formula:
        eta = 1 - (H/V0) product over i of H/(H + S_i)
    Inputs:
        wort_volume: L, 0.001 to 20000; in the tun before the first run-off, at 20 degC
        hold_up: L, 0 to 20000; left in the drained grains each time
        batch_volumes: L at 20 degC; a list, one sparge each; empty is no sparge
    Result: kg/kg
    Uncertainty: U = 0.0005, against the full mass balance; the hold-up brings 0.02
    Source: mass balance; the washing of a stirred batch, O. Levenspiel 1999, Chemical Reaction
        Engineering, 3rd ed.
    """
    _check_hold_up(wort_volume, hold_up)
    left = hold_up / wort_volume
    for batch in batch_volumes:
        if nominal(batch) < 0.0:
            raise ValueError(f"a sparge of {nominal(batch):g} L is negative")
        if nominal(batch) > 0.0:
            left = left * hold_up / (hold_up + batch)
    return 1.0 - left


def _upper_gamma_plain(a: float, x: float) -> float:
    """Regularised upper incomplete gamma function of real order, on plain floats.

    The series below x = a + 1 and the continued fraction above it each converge fast there
    (NIST Digital Library of Mathematical Functions 8.7.1 and 8.9.2).
    """
    if x <= 0.0:
        return 1.0
    scale = math.exp(a * math.log(x) - x - math.lgamma(a))
    if x < a + 1.0:
        term = total = 1.0 / a
        order = a
        while term > 1e-17 * total:
            order += 1.0
            term *= x / order
            total += term
        return 1.0 - scale * total
    b = x + 1.0 - a
    c = 1e300
    d = 1.0 / b
    fraction = d
    for k in range(1, 1000):
        numerator = -k * (k - a)
        b += 2.0
        d = 1.0 / (numerator * d + b)
        c = b + numerator / c
        fraction *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return scale * fraction


def _upper_gamma(tanks: Number, x: Number) -> Number:
    """Regularised upper incomplete gamma function Q(N, x).

    For a whole number of tanks it is exp(-x) (1 + x + ... + x^(N-1)/(N-1)!), which needs no
    library and carries uncertainties by itself.
    """
    if isinstance(tanks, (float, int)) and float(tanks).is_integer():
        if nominal(x) > 700.0:
            return 0.0 * x
        term: Number = 1.0
        total: Number = 1.0
        for k in range(1, int(tanks)):
            term = term * x / k
            total = total + term
        return exp(-x) * total
    return carried(_upper_gamma_plain)(tanks, x)


def _left_in_grains(bed_volumes: Number, tanks: Number) -> Number:
    """Share of the held extract that is still in the grains after a sparge.

    The integral of Q(N, N u) over u from 0 to theta is theta Q(N, N theta) + P(N + 1, N theta).
    """
    x = tanks * bed_volumes
    here = _upper_gamma(tanks, x)
    return _upper_gamma(tanks + 1, x) - bed_volumes * here


@method
def continuous_recovery(
    wort_volume: Number, hold_up: Number, sparge_liquor: Number, tanks_in_series: Number
) -> Number:
    """Share of the dissolved extract that runs off with a continuous sparge.

    The first wort is drained; the sparge then washes the wort held in the grains as if it stood
    in a row of stirred tanks. One tank is a bed that mixes fully, many are a bed that is pushed
    out like a plug.

    Formula:
        eta = 1 - (H/V0) (Q(N + 1, N theta) - theta Q(N, N theta)), theta = S/H
        Q(N, x) is the regularised upper incomplete gamma function, for whole N
        exp(-x) (1 + x + ... + x^(N-1)/(N-1)!)
    Inputs:
        wort_volume: L, 0.001 to 20000; in the tun before run-off, at 20 degC
        hold_up: L, 0.001 to 20000; left in the drained grains
        sparge_liquor: L, 0 to 20000; at 20 degC
        tanks_in_series: -, 1 to 50 (trusted 1 to 20); fitted to logged runnings
    Result: kg/kg
    Uncertainty: U = 20 % of 1 - the value (channelling)
    Source: tanks in series, O. Levenspiel 1999, Chemical Reaction Engineering, 3rd ed., ch. 14;
        incomplete gamma function, NIST Digital Library of Mathematical Functions 8.4.10
    """
    _check_hold_up(wort_volume, hold_up)
    theta = sparge_liquor / hold_up
    return 1.0 - hold_up / wort_volume * _left_in_grains(theta, tanks_in_series)


def _gravity_at(first_wort_gravity: Number, share: Number) -> Number:
    """Gravity of wort whose extract in a litre is this share of that of the first wort."""
    return gravity_from_extract_mass(extract_mass(1.0, first_wort_gravity) * share, 1.0)


@method
def runnings_gravity(
    first_wort_gravity: Number, sparge_liquor: Number, hold_up: Number, tanks_in_series: Number
) -> Number:
    """Gravity of the runnings after some sparge has followed the first wort.

    Formula:
        c = c0 Q(N, N theta), theta = S/H, c the extract in a litre of wort
    Inputs:
        first_wort_gravity: SG, 1.000 to 1.200 (trusted 1.020 to 1.130)
        sparge_liquor: L, 0 to 20000; that has entered since the first wort was drained
        hold_up: L, 0.001 to 20000; wort held in the drained grains
        tanks_in_series: -, 1 to 50 (trusted 1 to 20)
    Result: SG at 20/20 degC
    Uncertainty: U = 20 % of the value - 1 (channelling), less once the tanks are fitted to own
        runnings
    Source: tanks in series, O. Levenspiel 1999, Chemical Reaction Engineering, 3rd ed., ch. 14
    """
    theta = sparge_liquor / hold_up
    return _gravity_at(first_wort_gravity, _upper_gamma(tanks_in_series, tanks_in_series * theta))


def _bed_volumes_for(share: float, tanks: float) -> float:
    """theta at which Q(N, N theta) has fallen to a share, by bisection."""
    low, high = 0.0, 1.0
    while _upper_gamma(tanks, tanks * high) > share and high < 1e4:
        low, high = high, 2.0 * high
    for _ in range(80):
        middle = 0.5 * (low + high)
        if _upper_gamma(tanks, tanks * middle) > share:
            low = middle
        else:
            high = middle
        if high - low < 1e-13 * high:
            break
    return 0.5 * (low + high)


@method
def sparge_volume_at_gravity(
    first_wort_gravity: Number, cut_off_gravity: Number, hold_up: Number, tanks_in_series: Number
) -> Number:
    """Sparge that has gone in when the runnings have fallen to a gravity.

    Formula:
        S = H theta, Q(N, N theta) = c_stop/c0
    Inputs:
        first_wort_gravity: SG, 1.001 to 1.200 (trusted 1.020 to 1.130)
        cut_off_gravity: SG, 1.0005 to 1.200 (trusted 1.003 to 1.130)
        hold_up: L, 0.001 to 20000; wort held in the drained grains
        tanks_in_series: -, 1 to 50 (trusted 1 to 20)
    Result: L at 20 degC; 0 if the first wort is not above the gravity
    Uncertainty: U = 20 % of the value (channelling)
    Source: tanks in series, O. Levenspiel 1999, Chemical Reaction Engineering, 3rd ed., ch. 14
    """
    if nominal(cut_off_gravity) >= nominal(first_wort_gravity):
        return 0.0
    share = extract_mass(1.0, cut_off_gravity) / extract_mass(1.0, first_wort_gravity)
    return hold_up * carried(_bed_volumes_for)(share, tanks_in_series)


@method
def batch_runnings_gravities(
    first_wort_gravity: Number, hold_up: Number, batch_volumes: Sequence[Number]
) -> list[Number]:
    """Gravities of the first wort and of each running after it, sparging in batches.

    Formula:
        SG_i = gravity_of_mix of H at SG_(i-1) and S_i of liquor
    Inputs:
        first_wort_gravity: SG, 1.000 to 1.200 (trusted 1.020 to 1.130)
        hold_up: L, 0.001 to 20000; wort held in the drained grains each time
        batch_volumes: L at 20 degC; a list, one sparge each
    Result: SG at 20/20 degC, a list, the first wort first
    Uncertainty: as the hold-up, where one uncertain by 0.2 L/kg brings 0.003; 0.0003 from the
        formula
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    gravities: list[Number] = [first_wort_gravity]
    for batch in batch_volumes:
        # Each uses the one before several times over: as a tree it would grow without bound.
        gravities.append(flat(gravity_of_mix([(hold_up, gravities[-1]), (batch, 1.0)])))
    return gravities


@method
def batch_runnings(
    wort_volume: Number,
    first_wort_gravity: Number,
    hold_up: Number,
    batch_volumes: Sequence[Number],
) -> list[tuple[Number, Number]]:
    """Volume and gravity of each running when a mash is drained and sparged in batches.

    Each is drained to the end. The grains hold as much after each as after the first.

    Formula:
        V_0 = V - H; V_i = (m(H, SG_(i-1)) + m(S_i) - m(H, SG_i)) / rho_i, m the mass of wort
    Inputs:
        wort_volume: L, 0.001 to 20000; in the tun before the first run-off, at 20 degC
        first_wort_gravity: SG, 1.000 to 1.200 (trusted 1.020 to 1.130)
        hold_up: L, 0.001 to 20000; wort held in the drained grains each time
        batch_volumes: L at 20 degC; a list, one sparge each
    Result: pairs of L at 20 degC and SG at 20/20 degC, the first wort first
    Uncertainty: as the hold-up, which brings 0.2 L/kg to the first volume and 0.003 to each gravity
        after it; 0.1 % from the formula
    Source: mass balance; ICUMSA SPS-4 (1998)
    """
    _check_hold_up(wort_volume, hold_up)
    gravities = batch_runnings_gravities(first_wort_gravity, hold_up, batch_volumes)
    runnings: list[tuple[Number, Number]] = [(wort_volume - hold_up, gravities[0])]
    for batch, before, after in zip(batch_volumes, gravities, gravities[1:], strict=False):
        runnings.append(((hold_up * before + batch - hold_up * after) / after, after))
    return runnings
