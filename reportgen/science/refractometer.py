"""Refractometer readings: of wort, of fermenting wort, and together with a hydrometer.

A refractometer sees sugar and alcohol alike. The route here is physical: the specific refraction
of a mixture (Lorentz and Lorenz) is the sum of those of water, extract and alcohol, and each of
the three has been measured by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from reportgen.science.density import WATER_20, extract_from_gravity, gravity_from_extract
from reportgen.science.method import method
from reportgen.science.number import Number, carried, sqrt

WATER_INDEX = 1.33299
"""Refractive index of water at 20 degC, sodium light, against air (ICUMSA SPS-3)."""


def _refraction(index: Number) -> Number:
    square = index * index
    return (square - 1.0) / (square + 2.0)


# Specific refractions, m3/kg. Sugar: mean of the official table of refractive index and density
# of sucrose solutions from 10 to 15 %. Ethanol: mean of the handbook's solutions of 4 to 15 % by
# mass (it is 1 % higher for ethanol without water).
_R_WATER = float(_refraction(WATER_INDEX)) / WATER_20
_R_SUGAR = 2.0650e-4
_R_ETHANOL = 2.7750e-4


def _index_of(refraction: Number) -> Number:
    return sqrt((1.0 + 2.0 * refraction) / (1.0 - refraction))


def _sucrose_index(brix: Number) -> Number:
    density = gravity_from_extract(brix) * WATER_20
    w = brix / 100.0
    return _index_of(density * (_R_WATER + w * (_R_SUGAR - _R_WATER)))


@method
def refractive_index(brix: Number) -> Number:
    """Refractive index of a sucrose solution, the meaning of the Brix scale.

    Formula:
        (n^2 - 1)/(n^2 + 2) = rho (w 2.0650e-4 + (1 - w) r_water), rho from ICUMSA SPS-4, kg/m3
    Inputs:
        brix: % by mass, -5 to 60 (trusted 0 to 40)
    Result: - (at 20 degC, 589 nm, against air)
    Uncertainty: 0.00005 to 30 %, which is 0.03 Brix
    Source: Lorentz-Lorenz rule, with the constants of OIV-MA-AS2-02, Table II, and of
        ICUMSA SPS-3 and SPS-4
    """
    return _sucrose_index(brix)


def _brix_plain(index: float) -> float:
    brix = (index - WATER_INDEX) / 0.00146
    for _ in range(30):
        here = float(_sucrose_index(brix))
        slope = (float(_sucrose_index(brix + 0.01)) - here) / 0.01
        step = (here - index) / slope
        brix -= step
        if abs(step) < 1e-11:
            break
    return brix


@method
def brix_from_index(index: Number) -> Number:
    """Brix reading of a liquid of known refractive index.

    Formula:
        Brix such that refractive_index(Brix) = n
    Inputs:
        index: -, 1.3260 to 1.4410; at 20 degC, 589 nm
    Result: % by mass
    Uncertainty: 0.03 to 30 %
    Source: inverse of refractive_index
    """
    return carried(_brix_plain)(index)


@method
def extract_from_brix(brix: Number, wort_factor: Number = 1.04) -> Number:
    """Extract of unfermented wort from a refractometer reading.

    Wort refracts a little more than a sucrose solution of the same extract. The factor is the
    brewer's own: the mean of reading over extract by hydrometer, for this instrument.

    Formula:
        P = Brix / factor
    Inputs:
        brix: % by mass, 0 to 60 (trusted 0 to 32); temperature-compensated reading
        wort_factor: -, 0.95 to 1.10 (trusted 1.00 to 1.06)
    Result: P
    Uncertainty: 2 % of the value with a factor that is not one's own; 0.1 P with it
    Source: definition; 1.04 is common practice
    """
    return brix / wort_factor


def _fermenting_brix(original: Number, apparent: Number, factor: Number) -> Number:
    """Reading that wort of an original extract gives at an apparent extract."""
    real = 0.1808 * original + 0.8192 * apparent
    alcohol = (original - real) / (2.0665 - 0.010665 * original)
    density = gravity_from_extract(apparent) * WATER_20
    specific = (
        _R_WATER
        + real / 100.0 * (_R_SUGAR - _R_WATER)
        + alcohol / 100.0 * (_R_ETHANOL - _R_WATER)
    )
    as_sucrose = _brix_plain(float(_index_of(density * specific)))
    return as_sucrose + (factor - 1.0) * real


def _apparent_plain(original: float, brix: float, factor: float) -> float:
    low, high = -5.0, 45.0
    for _ in range(70):
        middle = 0.5 * (low + high)
        if float(_fermenting_brix(original, middle, factor)) < brix:
            low = middle
        else:
            high = middle
        if high - low < 1e-11:
            break
    return 0.5 * (low + high)


@method
def fermenting_brix(
    original_extract: Number, apparent_extract: Number, wort_factor: Number = 1.04
) -> Number:
    """Refractometer reading to expect of fermenting wort or beer.

    Formula:
        RE and A by Balling; (n^2 - 1)/(n^2 + 2) = rho (w_RE 2.0650e-4 + w_A 2.7750e-4
        + w_water r_water), rho from the apparent extract; Brix from n, plus (factor - 1) RE
    Inputs:
        original_extract: P, 0 to 35 (trusted 5 to 20)
        apparent_extract: P, -4 to 35 (trusted -1 to 20)
        wort_factor: -, 0.95 to 1.10 (trusted 1.00 to 1.06)
    Result: % by mass
    Uncertainty: 0.2 Brix with one's own wort factor
    Source: Lorentz-Lorenz rule; OIV-MA-AS2-02, Table II; CRC Handbook of Chemistry and
        Physics, 102nd ed., Concentrative Properties of Aqueous Solutions; C. J. N. Balling 1865
    """

    def plain(original: float, apparent: float, factor: float) -> float:
        return float(_fermenting_brix(original, apparent, factor))

    return carried(plain)(original_extract, apparent_extract, wort_factor)


@method
def present_gravity(
    original_extract: Number, brix: Number, wort_factor: Number = 1.04
) -> Number:
    """Gravity of fermenting wort from its original extract and a refractometer reading.

    Not to be mixed up with a hydrometer reading: it rests on Balling's yield and on the wort
    factor, and its uncertainty is several times that of a hydrometer.

    Formula:
        AE such that fermenting_brix(OE, AE, factor) = Brix; SG from AE
    Inputs:
        original_extract: P, 1 to 35 (trusted 5 to 20)
        brix: % by mass, 0 to 40 (trusted 1 to 25); temperature-compensated reading
        wort_factor: -, 0.95 to 1.10 (trusted 1.00 to 1.06)
    Result: SG at 20/20 degC
    Uncertainty: 0.0015 with one's own wort factor (0.2 Brix); 0.003 without
    Source: Lorentz-Lorenz rule; OIV-MA-AS2-02, Table II; CRC Handbook of Chemistry and
        Physics, 102nd ed., Concentrative Properties of Aqueous Solutions; C. J. N. Balling 1865
    """
    return gravity_from_extract(carried(_apparent_plain)(original_extract, brix, wort_factor))


@method
def present_gravity_savel(
    original_extract: Number, brix: Number, wort_factor: Number = 1.04
) -> Number:
    """Gravity of fermenting wort by the straight line measured in a lager brewery.

    The line was published for an original extract of 11.5 P and the scale of the immersion
    refractometer, m = 0.3830 r - 11.7129, with water at 15.0. It is written here as a fall from
    the unfermented reading, so that the scale drops out: 0.3830 (60.61 - 15.0)/11.5 = 1.519.

    Formula:
        AE = OE - 1.519 (OE - Brix/factor); SG from AE
    Inputs:
        original_extract: P, 6 to 20 (trusted 10 to 13)
        brix: % by mass, 0 to 25 (trusted 3 to 14)
        wort_factor: -, 0.95 to 1.10 (trusted 1.00 to 1.06)
    Result: SG at 20/20 degC
    Uncertainty: 0.0004 at 11.5 P as published (0.1 % in the extract); 0.002 elsewhere
    Source: J. Savel 1971, Kvasny Prumysl 17(3), 53-56, doi 10.18832/kp1971011
    """
    apparent = original_extract - 1.519 * (original_extract - brix / wort_factor)
    return gravity_from_extract(apparent)


MODELS: dict[str, Callable[[Number, Number, Number], Number]] = {
    "refraction": present_gravity,
    "savel": present_gravity_savel,
}
# The straight line was measured for one original extract only; the physical route holds for all
# and agrees with it where both do.
DEFAULT = "refraction"


class Beer(NamedTuple):
    """What both instruments together say of a beer."""

    alcohol: Number
    """% by mass"""
    real_extract: Number
    """P"""
    original_extract: Number
    """P"""


def _sugar_and_spirit(gravity: float, alcohol: float) -> float:
    """Real extract at which a beer with this alcohol has this gravity."""
    from reportgen.science.alcohol import _spirit_gravity

    per_litre = gravity * WATER_20 / 1000.0
    sugar = gravity - (_spirit_gravity(alcohol / 100.0 * per_litre) - 1.0)
    extract = float(extract_from_gravity(sugar))
    return extract * sugar / gravity


def _alcohol_plain(brix: float, gravity: float, factor: float) -> float:
    alcohol = 0.0
    for _ in range(100):
        real = _sugar_and_spirit(gravity, alcohol)
        index = float(_sucrose_index(brix - (factor - 1.0) * real))
        specific = float(_refraction(index)) / (gravity * WATER_20)
        better = (specific - _R_WATER - real / 100.0 * (_R_SUGAR - _R_WATER)) * 100.0
        better /= _R_ETHANOL - _R_WATER
        if abs(better - alcohol) < 1e-11:
            break
        alcohol = better
    return alcohol


@method
def alcohol_from_both(brix: Number, gravity: Number, wort_factor: Number = 1.04) -> Beer:
    """Alcohol and extract of a beer from refractometer and hydrometer, original unknown.

    Sugar refracts by its mass as much as water does; what refracts more for its density is the
    alcohol. The sum of extract and alcohol must also give the gravity.

    Formula:
        A = 100 ((n^2-1)/(n^2+2)/rho - r_water - w_RE (2.0650e-4 - r_water))
        / (2.7750e-4 - r_water), n from Brix - (factor - 1) RE;
        SG - 1 = (SG_sugar(c_RE) - 1) + (SG_spirit(c_A) - 1);
        OE = 100 (2.0665 A + RE)/(100 + 1.0665 A)
    Inputs:
        brix: % by mass, 0 to 30 (trusted 2 to 20); of degassed beer
        gravity: SG, 0.985 to 1.130 (trusted 0.995 to 1.060); by hydrometer, degassed
        wort_factor: -, 0.95 to 1.10 (trusted 1.00 to 1.06)
    Result: alcohol % by mass, real extract P, original extract P
    Uncertainty: 0.3 % by mass and 0.6 P in the original extract, for 0.1 Brix, 0.0005 SG and
        0.01 in the wort factor
    Source: Lorentz-Lorenz rule and Tabarie's rule; the two-instrument method is that of
        H. Tornoe 1897 and G. Barth 1905, described in C. Simmonds 1919, Alcohol: Its Production,
        Properties, Chemistry, and Industrial Applications
    """
    alcohol = carried(_alcohol_plain)(brix, gravity, wort_factor)
    real = carried(_sugar_and_spirit)(gravity, alcohol)
    original = 100.0 * (2.0665 * alcohol + real) / (100.0 + 1.0665 * alcohol)
    return Beer(alcohol, real, original)
