"""Density of water and of sugar solutions: gravity, extract, and volumes hot and cold."""

from __future__ import annotations

from reportgen.science.method import method
from reportgen.science.number import Number, first_order, nominal

# Kell's rational function with the coefficients refitted to the temperature scale ITS-90
# (H. Bettin and F. Spieweck 1990, PTB-Mitteilungen 100, 195), as used by ICUMSA SPS-4.
_WATER = (999.83952, 16.952577, -7.9905127e-3, -46.241757e-6, 105.84601e-9, -281.03006e-12)
_WATER_DIVISOR = 16.887236e-3

# ICUMSA SPS-4: one row for each power of (t - 20)/100, in it one coefficient for each power
# of the mass fraction of sucrose, from the first.
_SUCROSE = (
    (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890),
    (-46.2720, -7.1720, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.3630, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)
_SUCROSE_HOTTEST = 80.0

GLASS_EXPANSION = 25e-6
"""Cubic expansion of hydrometer glass, 1/K (NBS Circular 440; ISO 649-1)."""


def _water(t: Number) -> Number:
    total: Number = 0.0
    for coefficient in reversed(_WATER):
        total = total * t + coefficient
    return total / (1.0 + _WATER_DIVISOR * t)


def _row(row: tuple[float, ...], w: Number) -> Number:
    total: Number = 0.0
    for coefficient in reversed(row):
        total = (total + coefficient) * w
    return total


def _slope(row: tuple[float, ...], w: float) -> float:
    """Derivative of :func:`_row` by w, on plain floats."""
    total = 0.0
    for power in range(len(row), 0, -1):
        total = total * w + power * row[power - 1]
    return total


def _sugar(w: Number, t: Number) -> Number:
    x = (t - 20.0) / 100.0
    total: Number = 0.0
    for row in reversed(_SUCROSE):
        total = total * x + _row(row, w)
    return total


WATER_20: float = _water(20.0)
"""Density of water at 20 degC, kg/m3, the base of SG 20/20."""


@method
def water_density(temperature: Number) -> Number:
    """Density of water at atmospheric pressure.

    Kell's function in the form refitted to the present temperature scale, the one on which the
    sucrose table (ICUMSA SPS-4) rests.

    Formula:
        rho = (999.83952 + 16.952577 t - 7.9905127e-3 t^2 - 46.241757e-6 t^3
               + 105.84601e-9 t^4 - 281.03006e-12 t^5) / (1 + 16.887236e-3 t)
    Inputs:
        temperature: degC, 0 to 110
    Result: kg/m3
    Uncertainty: U = 0.006 kg/m3 (6 parts in a million) against IAPWS-95; 0.02 kg/m3 above 100 degC
    Source: G. S. Kell 1975, J. Chem. Eng. Data 20(1), 97-105, doi 10.1021/je60064a005, 0 to
        150 degC; H. Bettin, F. Spieweck 1990, PTB-Mitteilungen 100, 195-196
    """
    return _water(temperature)


@method
def solution_density(extract: Number, temperature: Number) -> Number:
    """Density of wort, taken as a sucrose solution of the same extract.

    Up to 80 degC the polynomial of the sugar industry. Above it the solution is taken to expand
    as water does, which joins on without a step.

    Formula:
        rho = rho_water(t) + sum over j = 0 to 4 of ((t - 20)/100)^j sum over i a_ij (P/100)^i
        above 80 degC: rho = rho(80) rho_water(t) / rho_water(80)
    Inputs:
        extract: P, -5 to 70 (trusted -3 to 70); below 0 the curve is continued, which is what
            an apparent extract below water means
        temperature: degC, 0 to 110 (trusted 0 to 100)
    Result: kg/m3
    Uncertainty: U = 0.1 kg/m3, for sucrose to 40 P and 80 degC; 0.2 above 40 P (between this
        standard and older handbooks); above 80 degC, 0.05 % at 12 P and 0.1 % at 25 P (the spread
        between this rule and the polynomial continued to 100 degC); malt wort differs from sucrose
        by up to 0.05 % more
    Source: ICUMSA Methods Book, Specification and Standard SPS-4 (1998), Densimetry and tables
    """
    w = extract / 100.0
    if nominal(temperature) <= _SUCROSE_HOTTEST:
        return _water(temperature) + _sugar(w, temperature)
    hottest = _SUCROSE_HOTTEST
    at_hottest = _water(hottest) + _sugar(w, hottest)
    return at_hottest * _water(temperature) / _water(hottest)


@method
def gravity_from_extract(extract: Number) -> Number:
    """Gravity of wort from its extract.

    Formula:
        SG = 1 + (385.1761 w + 135.3705 w^2 + 40.9299 w^3 - 3.9643 w^4 + 13.4853 w^5
                  - 17.2890 w^6) / rho_water(20), w = P/100
    Inputs:
        extract: P, -5 to 70 (trusted -3 to 70); below 0 the curve is continued
    Result: SG at 20/20 degC
    Uncertainty: U = 0.00003 SG, to 15 P; 0.00006 to 21 P against the older printed tables; the
        definition itself is the sucrose table. In vacuum: weighed in air a gravity is higher by
        0.0012 (SG - 1)
    Source: ICUMSA Methods Book, Specification and Standard SPS-4 (1998); agrees with
        F. Plato 1900, NBS Circular 440 (1942)
    """
    row, w = _SUCROSE[0], nominal(extract) / 100.0
    return first_order(
        extract, 1.0 + _row(row, w) / WATER_20, _slope(row, w) / WATER_20 / 100.0
    )


@method
def extract_from_gravity(gravity: Number) -> Number:
    """Extract of wort from its gravity: the exact inverse of the sucrose table.

    Formula:
        P such that gravity_from_extract(P) = SG
    Inputs:
        gravity: SG, 0.9815 to 1.3490 (trusted 0.9885 to 1.3490)
    Result: P (g extract in 100 g); below 0 for a gravity below 1
    Uncertainty: U = 0.008 P, to 15 P; 0.015 P to 21 P against the older printed tables; solved to
        1e-12
    Source: inverse of ICUMSA SPS-4 (1998), by Newton's method
    """
    wanted = (nominal(gravity) - 1.0) * WATER_20
    row = _SUCROSE[0]
    w = wanted / (385.1761 + 0.32 * wanted)
    for _ in range(20):
        step = (_row(row, w) - wanted) / _slope(row, w)
        w -= step
        if abs(step) < 1e-14:
            break
    return first_order(gravity, 100.0 * w, 100.0 * WATER_20 / _slope(row, w))


def _extract_at(density: float, t: float, start: float) -> float:
    """Extract of the sugar solution that has this density (kg/m3) at t."""
    extract, step = start, 1.0
    for _ in range(30):
        here = nominal(solution_density(extract, t))
        slope = (nominal(solution_density(extract + 0.01, t)) - here) / 0.01
        step = (here - density) / slope
        extract -= step
        if abs(step) < 1e-10:
            break
    return extract


@method
def hydrometer_correction(
    reading: Number, sample_temperature: Number, reference_temperature: Number = 20.0
) -> Number:
    """True gravity of a sample read at another temperature than the hydrometer was made for.

    The scale is taken as SG at reference/reference temperature. The glass has grown by its
    cubic expansion, and the sample is brought to 20 degC as a sugar solution. Above 40 degC
    the reading itself is not trusted (convection, glass not at temperature, evaporation).

    Formula:
        rho(sample) = reading rho_water(t_ref) / (1 + 25e-6 (t - t_ref));
        P such that solution_density(P, t) = rho(sample); SG = gravity_from_extract(P)
    Inputs:
        reading: SG, 0.985 to 1.200 (trusted 0.990 to 1.160)
        sample_temperature: degC, 0 to 60 (trusted 0 to 40)
        reference_temperature: degC, 4 to 30; as engraved: 20, 15.56 (60 degF), 15, 17.5
    Result: SG at 20/20 degC
    Uncertainty: U = 0.0002 SG, to 40 degC for wort; 0.0005 for beer, whose alcohol expands more;
        0.001 or worse above 40 degC
    Source: NBS Circular 440 (1942), on hydrometers; ICUMSA SPS-4 (1998); glass 25e-6 per K,
        ISO 649-1:1981
    """
    glass = 1.0 + GLASS_EXPANSION * (sample_temperature - reference_temperature)
    density = reading * _water(reference_temperature) / glass
    t = nominal(sample_temperature)
    extract = _extract_at(nominal(density), t, 258.0 * (nominal(reading) - 1.0))
    plain = gravity_from_extract(extract)
    if all(
        isinstance(a, (float, int)) for a in (reading, sample_temperature, reference_temperature)
    ):
        return plain
    # First order: the misfit between both sides of the balance, over its slope in gravity.
    misfit = density - solution_density(extract, sample_temperature)
    by_extract = (solution_density(extract + 0.01, t) - solution_density(extract, t)) / 0.01
    by_gravity = (gravity_from_extract(extract + 0.01) - plain) / 0.01
    return plain + misfit / by_extract * by_gravity


@method
def cold_volume(volume: Number, temperature: Number) -> Number:
    """Volume at 20 degC of wort that was measured hot.

    Formula:
        V20 = V rho_water(t) / rho_water(20)
    Inputs:
        volume: L, 0 to 20000; as read, at the temperature
        temperature: degC, 0 to 110
    Result: L at 20 degC
    Uncertainty: U = 0.1 % of the value (wort of 12 P shrinks 0.07 % more than water from 60 degC,
        and by as much as water from 100); the vessel's own growth, 0.4 % for steel at 100 degC, is
        not taken off
    Source: G. S. Kell 1975, J. Chem. Eng. Data 20(1), 97-105; wort against water by ICUMSA SPS-4
    """
    return volume * _water(temperature) / WATER_20


@method
def hot_volume(volume: Number, temperature: Number) -> Number:
    """Volume that wort measured at 20 degC takes when hot.

    Formula:
        V = V20 rho_water(20) / rho_water(t)
    Inputs:
        volume: L, 0 to 20000; at 20 degC
        temperature: degC, 0 to 110
    Result: L at the temperature
    Uncertainty: U = 0.1 % of the value, as for cold_volume
    Source: G. S. Kell 1975, J. Chem. Eng. Data 20(1), 97-105
    """
    return volume * WATER_20 / _water(temperature)
