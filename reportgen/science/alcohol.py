"""Alcohol, real extract and attenuation from gravities; density of spirit.

The balance of fermentation (extract gives alcohol, carbon dioxide and yeast in fixed shares), still
the base of the analysts' tables, is the default. Others stand beside it in :data:`MODELS`.
"""

from __future__ import annotations

from collections.abc import Callable

from reportgen.science.density import (
    _SUCROSE,
    WATER_20,
    _row,
    extract_from_gravity,
    gravity_from_extract,
)
from reportgen.science.method import method
from reportgen.science.number import Number, carried, nominal

ETHANOL_20 = 789.24
"""Density of ethanol at 20 degC, kg/m3 (OIML R 22)."""

# OIML R 22 (1975), page 13: density of mixtures of ethanol and water.
_A = (
    998.20123,
    -192.9769495,
    389.1238958,
    -1668.103923,
    13522.15441,
    -88292.78388,
    306287.4042,
    -613838.1234,
    747017.2998,
    -547846.1354,
    223446.0334,
    -39032.85426,
)
@method
def ethanol_water_density(ethanol_mass_fraction: Number) -> Number:
    """Density of a mixture of ethanol and water at 20 degC.

    Formula:
        rho = A_1 + sum A_k p^(k-1)
    Inputs:
        ethanol_mass_fraction: kg/kg, 0 to 1
    Result: kg/m3
    Uncertainty: U = 0.06 kg/m3 (the 1975 measurements); the printed tables are this formula
    Source: OIML R 22 (1975), International alcoholometric tables, pages 5 and 13; H. Bettin,
        F. Spieweck 1990, PTB-Mitteilungen 100, 457-460
    """
    return _spirit_density(ethanol_mass_fraction)


def _spirit_density(fraction: Number) -> Number:
    """Density of the mixture, kg/m3; continued a little below no ethanol at all."""
    density: Number = 0.0
    for coefficient in reversed(_A):
        density = density * fraction + coefficient
    return density


@method
def real_extract(original_extract: Number, apparent_extract: Number) -> Number:
    """Real extract of beer, what is left when the alcohol is taken away.

    Formula:
        RE = 0.1808 OE + 0.8192 AE
    Inputs:
        original_extract: P, 0 to 40 (trusted 0 to 20)
        apparent_extract: P, -5 to 40 (trusted -2 to 20)
    Result: P
    Uncertainty: U = 0.2 P (the means of five sets of modern brews lie 0.10 to 0.19 P higher)
    Source: C. J. N. Balling 1865, Die Bierbrauerei, 3rd ed.; ASBC Methods of Analysis, Beer-6;
        A. J. Cutaia, A.-J. Reid, R. A. Speers 2009, J. Inst. Brew. 115(4), 318-327,
        Table III (modern brews)
    """
    return 0.1808 * original_extract + 0.8192 * apparent_extract


def _by_volume(alcohol_mass: Number, gravity: Number) -> Number:
    return alcohol_mass * gravity * WATER_20 / ETHANOL_20


@method
def alcohol_by_volume_fermentation_balance(
    original_gravity: Number, final_gravity: Number
) -> Number:
    """Alcohol of beer by volume from its two gravities, by the balance of fermentation.

    Formula:
        OE, AE from the gravities; RE = 0.1808 OE + 0.8192 AE;
        A = (OE - RE) / (2.0665 - 0.010665 OE); A_v = A FG rho_water(20) / 789.24
    Inputs:
        original_gravity: SG, 0.990 to 1.170 (trusted 1.000 to 1.083)
        final_gravity: SG, 0.9815 to 1.170 (trusted 0.992 to 1.083)
    Result: % by volume at 20 degC
    Uncertainty: U = 0.15 % by volume (the means of five sets of modern brews, 532 in all, lie 0.03
        below to 0.11 above in % by mass), beside that of the readings (0.0005 in both is 0.09)
    Source: C. J. N. Balling 1865; ASBC Methods of Analysis, Beer-6; density of ethanol by
        OIML R 22 (1975)
    """
    original = extract_from_gravity(original_gravity)
    real = 0.1808 * original + 0.8192 * extract_from_gravity(final_gravity)
    mass = (original - real) / (2.0665 - 0.010665 * original)
    return _by_volume(mass, final_gravity)


@method
def alcohol_by_volume_measured_brews(original_gravity: Number, final_gravity: Number) -> Number:
    """Alcohol of beer by volume from its two gravities, as fitted to 532 measured brews.

    Formula:
        A = (0.372 + 0.00357 OE)(OE - AE); A_v = A FG rho_water(20) / 789.24
    Inputs:
        original_gravity: SG, 0.990 to 1.130 (trusted 1.037 to 1.074)
        final_gravity: SG, 0.9815 to 1.130 (trusted 0.998 to 1.031)
    Result: % by volume at 20 degC
    Uncertainty: U = 4.8 % of the value, twice the standard error of the factor, 0.010
    Source: A. J. Cutaia, A.-J. Reid, R. A. Speers 2009, J. Inst. Brew. 115(4), 318-327,
        Table VI, brewing value a
    """
    original = extract_from_gravity(original_gravity)
    apparent = extract_from_gravity(final_gravity)
    mass = (0.372 + 0.00357 * original) * (original - apparent)
    return _by_volume(mass, final_gravity)


# Degrees of gravity lost, up to and with, and the factor; HM Revenue & Customs.
_EXCISE = (
    (6.95, 0.125),
    (10.45, 0.126),
    (17.25, 0.127),
    (26.15, 0.128),
    (36.05, 0.129),
    (46.55, 0.130),
    (57.15, 0.131),
    (67.95, 0.132),
    (78.85, 0.133),
    (89.75, 0.134),
    (100.75, 0.135),
)


@method
def alcohol_by_volume_duty_table(original_gravity: Number, final_gravity: Number) -> Number:
    """Alcohol of beer by volume by the factor table of a duty office (United Kingdom).

    The factor grows with the degrees of gravity lost, in steps. The duty office cuts the result
    to one decimal; here it is not cut. Degrees must not exceed 100.7.

    Formula:
        A_v = f (1000 OG - 1000 FG), f from 0.125 (up to 6.9 degrees) to 0.135 (from 89.8)
    Inputs:
        original_gravity: SG, 0.990 to 1.130
        final_gravity: SG, 0.9815 to 1.130
    Result: % by volume at 20 degC
    Uncertainty: U = 0.2 % by volume
    Source: HM Revenue & Customs, Notice 226 Beer Duty, section 30.3, table of the Laboratory of
        the Government Chemist
    """
    degrees = 1000.0 * (original_gravity - final_gravity)
    for limit, factor in _EXCISE:
        if nominal(degrees) < limit:
            return factor * degrees
    raise ValueError(
        f"{nominal(degrees):.1f} degrees of gravity lost are past the duty table (100.7)"
    )


def _sugar_gravity(kg_per_litre: float) -> float:
    """Gravity of a sugar solution with this much extract in a litre."""
    extract = 100.0 * kg_per_litre
    for _ in range(30):
        better = 1e5 * kg_per_litre / (WATER_20 + float(_row(_SUCROSE[0], extract / 100.0)))
        if abs(better - extract) < 1e-12:
            break
        extract = better
    return 1.0 + float(_row(_SUCROSE[0], extract / 100.0)) / WATER_20


def _spirit_gravity(kg_per_litre: float) -> float:
    """Gravity of a spirit with this much ethanol in a litre."""
    fraction = kg_per_litre
    density = _A[0]
    for _ in range(30):
        density = float(_spirit_density(fraction))
        better = 1000.0 * kg_per_litre / density
        if abs(better - fraction) < 1e-14:
            break
        fraction = better
    return density / _A[0]


def _gravity_with_alcohol(original_extract: float, alcohol: float) -> float:
    """Gravity of wort of an original extract (P) that holds this alcohol (% by mass).

    Extract and alcohol made up to the volume each, with the yield of the balance of fermentation,
    on plain floats; the base of the model by densities here and of the refractometer. A slightly
    negative alcohol continues the curve, so that readings within their error of the start of
    fermentation give no jump.
    """
    real = original_extract * (1.0 + 0.010665 * alcohol) - 2.0665 * alcohol
    gravity = float(gravity_from_extract(original_extract))
    for _ in range(50):
        per_litre = gravity * WATER_20 / 1e5
        better = _sugar_gravity(real * per_litre) + _spirit_gravity(alcohol * per_litre) - 1.0
        if abs(better - gravity) < 1e-13:
            break
        gravity = better
    return gravity


def _secant(function: Callable[[float], float], start: float, step: float) -> float:
    """Root of a smooth, nearly straight function of one number. ValueError if none is found."""
    x0, x1 = start, start + step
    f0, f1 = function(x0), function(x1)
    for _ in range(60):
        if f1 == f0:
            break
        x0, x1, f0 = x1, x1 - f1 * (x1 - x0) / (f1 - f0), f1
        if abs(x1 - x0) < 1e-10:
            return x1
        f1 = function(x1)
    if abs(f1) < 1e-9:
        return x1
    raise ValueError("no alcohol fits these readings")


def _alcohol_by_density(original: float, gravity: float) -> float:
    """Alcohol, % by mass, at which extract and alcohol together give the gravity."""
    start = 0.42 * (original - float(extract_from_gravity(gravity)))
    return _secant(lambda a: _gravity_with_alcohol(original, a) - gravity, start, 0.01)


@method
def alcohol_by_volume_densities(original_gravity: Number, final_gravity: Number) -> Number:
    """Alcohol of beer by volume from the densities of sugar and spirit, without 0.1808.

    Only the yield of the balance of fermentation is taken; what the alcohol does to the gravity
    comes from the alcoholometric tables, by the rule that the excess of beer over water is that of
    its extract made up to the volume plus that of its alcohol made up to the volume.

    Formula:
        A such that FG - 1 = (SG_sugar(c_RE) - 1) + (SG_spirit(c_A) - 1) with
        RE = OE (1 + 0.010665 A) - 2.0665 A, c in kg/L; A_v = A FG rho_water(20) / 789.24
    Inputs:
        original_gravity: SG, 1.000 to 1.170 (trusted 1.000 to 1.120)
        final_gravity: SG, 0.9815 to 1.170 (trusted 0.990 to 1.083)
    Result: % by volume at 20 degC
    Uncertainty: U = 0.2 % by volume
    Source: Tabarie's rule, OIV Compendium of International Methods, OIV-MA-AS2-03 (total dry
        extract); OIML R 22 (1975); yield by C. J. N. Balling 1865
    """
    original = extract_from_gravity(original_gravity)
    mass = carried(_alcohol_by_density)(original, final_gravity)
    return _by_volume(mass, final_gravity)


MODELS: dict[str, Callable[[Number, Number], Number]] = {
    "fermentation_balance": alcohol_by_volume_fermentation_balance,
    "measured_brews": alcohol_by_volume_measured_brews,
    "densities": alcohol_by_volume_densities,
    "duty_table": alcohol_by_volume_duty_table,
}
# The balance of fermentation is the base of ASBC Beer-6 and of the tables that laboratories print,
# it is smooth, it holds from table beer to strong ale, and the means of five sets of measured brews
# (532 in all) lie closest to it. The regression over those brews, trusted within their strengths
# only, and the densities of sugar and spirit, which go on to 1.120, run 1 to 2 % of the value
# lower. A brewer who declares strength for duty takes the table of the office.
DEFAULT = "fermentation_balance"


def _original_of(original_gravity: Number) -> Number:
    original = extract_from_gravity(original_gravity)
    if nominal(original) <= 0.0:
        raise ValueError("attenuation has no meaning for a wort without extract")
    return original


@method
def apparent_attenuation(original_gravity: Number, present_gravity: Number) -> Number:
    """Apparent attenuation: the share of the extract that seems gone, by the gravity read.

    Formula:
        (OE - AE) / OE
    Inputs:
        original_gravity: SG, 1.001 to 1.200 (trusted 1.020 to 1.130)
        present_gravity: SG, 0.9815 to 1.200 (trusted 0.9885 to 1.130)
    Result: kg/kg; above 1 for a beer lighter than water
    Uncertainty: that of the readings: 0.0005 in both is 0.014 at 1.048
    Source: ASBC Methods of Analysis, Beer-6B (apparent degree of fermentation)
    """
    original = _original_of(original_gravity)
    return (original - extract_from_gravity(present_gravity)) / original


@method
def real_attenuation(original_gravity: Number, present_gravity: Number) -> Number:
    """Real attenuation: the share of the extract that is gone, the alcohol allowed for.

    Formula:
        (OE - RE) / OE = 0.8192 (OE - AE) / OE
    Inputs:
        original_gravity: SG, 1.001 to 1.200 (trusted 1.020 to 1.083)
        present_gravity: SG, 0.9815 to 1.200 (trusted 0.990 to 1.083)
    Result: kg/kg
    Uncertainty: U = 0.01, beside that of the readings
    Source: C. J. N. Balling 1865; ASBC Methods of Analysis, Beer-6B
    """
    original = _original_of(original_gravity)
    return 0.8192 * (original - extract_from_gravity(present_gravity)) / original


@method
def gravity_at_attenuation(original_gravity: Number, attenuation: Number) -> Number:
    """Gravity that a wort of an original gravity has at an apparent attenuation.

    Formula:
        AE = OE (1 - attenuation); SG from AE
    Inputs:
        original_gravity: SG, 1.000 to 1.200 (trusted 1.020 to 1.130)
        attenuation: kg/kg, -0.1 to 1.30 (trusted 0 to 1.10); apparent, 1.22 where all ferments
    Result: SG at 20/20 degC
    Uncertainty: that of the attenuation: 0.03 is 0.0014 at 1.048
    Source: ASBC Methods of Analysis, Beer-6B (definition turned round)
    """
    return gravity_from_extract(extract_from_gravity(original_gravity) * (1.0 - attenuation))
