"""Refractometer readings: of wort, of fermenting wort, and together with a hydrometer.

A refractometer sees sugar and alcohol alike. The route here is physical: the specific refraction
of a mixture (Lorentz and Lorenz) is the sum of those of water, extract and alcohol, and each of
the three has been measured by itself.
"""

from __future__ import annotations

from collections.abc import Callable

from reportgen.science.alcohol import (
    _gravity_with_alcohol,
    _secant,
)
from reportgen.science.density import (
    _SUCROSE,
    WATER_20,
    _row,
    gravity_from_extract,
)
from reportgen.science.method import method
from reportgen.science.number import Number, carried, sqrt

WATER_INDEX = 1.33299
"""Refractive index of water at 20 degC, sodium light, against air (ICUMSA SPS-3)."""


def _refraction(index: Number) -> Number:
    square = index * index
    return (square - 1.0) / (square + 2.0)


# Specific refractions, m3/kg. Sugar: straight line through the official table of refractive
# index of sucrose solutions, 10 to 30 % (OIV-MA-AS2-02, Table II), with the densities of SPS-4;
# it meets every entry within 0.00001. Ethanol: mean of the handbook's solutions of 1 to 12 % by
# mass, met within 0.00007 (it is 1 % higher for ethanol without water).
_R_WATER = float(_refraction(WATER_INDEX)) / WATER_20
_R_SUGAR, _R_SUGAR_SLOPE = 2.0677e-4, -2.089e-6
_R_ETHANOL = 2.7750e-4


def _of_sugar(w: Number) -> Number:
    """What a mass fraction of sugar adds to the specific refraction of water."""
    return w * (_R_SUGAR + _R_SUGAR_SLOPE * w - _R_WATER)


def _index_of(refraction: Number) -> Number:
    return sqrt((1.0 + 2.0 * refraction) / (1.0 - refraction))


def _sucrose_index(brix: Number) -> Number:
    w = brix / 100.0
    density = WATER_20 + _row(_SUCROSE[0], w)
    return _index_of(density * (_R_WATER + _of_sugar(w)))


@method
def refractive_index(brix: Number) -> Number:
    """Refractive index of a sucrose solution, the meaning of the Brix scale.

    Formula:
        (n^2 - 1)/(n^2 + 2) = rho (w r_sugar + (1 - w) r_water), r_sugar = 2.0677e-4 - 2.089e-6 w,
        r_water from n = 1.33299, rho from ICUMSA SPS-4, kg/m3
    Inputs:
        brix: % by mass, -5 to 60 (trusted 0 to 40)
    Result: - (at 20 degC, 589 nm, against air)
    Uncertainty: U = 0.00002, to 40 %, which is 0.015 Brix
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
    Uncertainty: as the wort factor: U = 0.01 for one's own, which is 0.1 P at 10 P, and 0.03 for
        the usual 1.04, 3 % of the value; brewers find 1.00 to 1.06
    Source: definition; 1.04 is common practice
    """
    return brix / wort_factor


def _brix_with_alcohol(original: float, alcohol: float, factor: float) -> float:
    """Reading that wort of an original extract gives when it holds this alcohol."""
    real = original * (1.0 + 0.010665 * alcohol) - 2.0665 * alcohol
    density = _gravity_with_alcohol(original, alcohol) * WATER_20
    specific = _R_WATER + _of_sugar(real / 100.0) + alcohol / 100.0 * (_R_ETHANOL - _R_WATER)
    return _brix_plain(float(_index_of(density * specific))) + (factor - 1.0) * real


def _present_plain(original: float, brix: float, factor: float) -> float:
    unfermented = factor * original
    fermented_out = _brix_with_alcohol(original, original / (2.0665 - 0.010665 * original), factor)
    # A reading beyond either end by more than its own error is another wort's, or a slip.
    if not fermented_out - 0.5 <= brix <= unfermented + 1.0 + 0.05 * original:
        raise ValueError(
            f"wort of {original:.4g} P reads from {unfermented:.3g} Brix unfermented down to "
            f"{fermented_out:.3g} with nothing left, not {brix:.3g}"
        )
    alcohol = _secant(
        lambda a: _brix_with_alcohol(original, a, factor) - brix,
        0.65 * (original - brix / factor),
        0.01,
    )
    return _gravity_with_alcohol(original, alcohol)


@method
def present_gravity(original_extract: Number, brix: Number, wort_factor: Number = 1.04) -> Number:
    """Gravity of fermenting wort from its original extract and a refractometer reading.

    Not to be mixed up with a hydrometer reading: it rests on a fixed yield of alcohol and on the
    wort factor, and its uncertainty is several times that of a hydrometer.

    Formula:
        A such that extract and alcohol left of OE refract as read, as in refractive_index;
        SG - 1 = (SG_sugar(c_RE) - 1) + (SG_spirit(c_A) - 1)
    Inputs:
        original_extract: P, 1 to 35 (trusted 5 to 20)
        brix: % by mass, 0 to 40 (trusted 1 to 25); temperature-compensated reading
        wort_factor: -, 0.95 to 1.10 (trusted 1.00 to 1.06)
    Result: SG at 20/20 degC
    Uncertainty: U = 0.002 SG from the fixed yield of alcohol and what else refracts (0.3 Brix),
        beside that of the reading, of the original extract and of the wort factor: U = 0.01 for
        one's own, 0.03 for the usual one
    Source: Lorentz-Lorenz rule; OIV-MA-AS2-02, Table II; CRC Handbook of Chemistry and
        Physics, 102nd ed., Concentrative Properties of Aqueous Solutions; C. J. N. Balling 1865
    """
    return carried(_present_plain)(original_extract, brix, wort_factor)


# The published line is m = 0.3830 r - 11.7129 in the scale r of the immersion refractometer, whose
# index is n = 1.327338 + 3.9347e-4 r - 2.0446e-7 r^2: between 11.5 P (r = 60.61) and 2 P
# (r = 35.80) the extract falls by 9.5 P while the index falls by 0.009269, 6.145 Brix.
_LINE_SLOPE = 1.546
_LINE_FACTOR = 1.005
_EXTRA = 0.8192


@method
def present_gravity_lager_line(
    original_extract: Number, brix: Number, wort_factor: Number = 1.04
) -> Number:
    """Gravity of fermenting wort by the straight line measured in a lager brewery.

    The line was published for an original extract of 11.5 P and the scale of the immersion
    refractometer. It is written here in Brix, as a fall from the unfermented reading; the wort
    of that brewery had a factor of 1.005 on this scale.

    Formula:
        AE = OE - (factor OE - Brix) / (1/1.546 + 0.8192 (factor - 1.005)); SG from AE
    Inputs:
        original_extract: P, 6 to 20 (trusted 10 to 13)
        brix: % by mass, 0 to 25 (trusted 3 to 14)
        wort_factor: -, 0.95 to 1.10 (trusted 1.00 to 1.06)
    Result: SG at 20/20 degC
    Uncertainty: U = 0.002 SG with the change of scale; as published 0.0004 at 11.5 P (0.1 % in the
        extract)
    Source: J. Savel 1971, Kvasny Prumysl 17(3), 53-56, doi 10.18832/kp1971011
    """
    slope = 1.0 / _LINE_SLOPE + _EXTRA * (wort_factor - _LINE_FACTOR)
    apparent = original_extract - (wort_factor * original_extract - brix) / slope
    return gravity_from_extract(apparent)


MODELS: dict[str, Callable[[Number, Number, Number], Number]] = {
    "refraction": present_gravity,
    "lager_line": present_gravity_lager_line,
}
# Refraction follows from measured indices of sugar and of ethanol and holds for all strengths. The
# line was measured in one lager brewery at one original extract, 11.5 degP; there the two agree.
DEFAULT = "refraction"
