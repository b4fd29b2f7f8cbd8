"""Colour of wort and beer from the grist, and the scales of colour."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from reportgen.science.method import method
from reportgen.science.number import Number, nominal

EBC_OF_SRM = 25.0 / 12.7
"""EBC units in one SRM: 25 A430 against 12.7 A430, both in 10 mm. It is the one rule for degrees
Lovibond too: a maltster's of today come from a photometer and are SRM (ASBC Methods of Analysis,
Malt-12). EBC = 2.65 L - 1.2, found beside it, is of glasses compared by eye."""

_POUNDS = 1.0 / 0.45359237
_GALLONS = 1.0 / 3.785411784


@method
def srm_to_ebc(srm: Number) -> Number:
    """Colour in EBC units from SRM.

    Formula:
        EBC = 25 / 12.7 SRM (1.97)
    Inputs:
        srm: SRM, 0 to 5000
    Result: EBC
    Uncertainty: none between the two scales of one absorbance; 0.1 % from rounding to 1.97
    Source: Analytica-EBC 9.6; ASBC Methods of Analysis, Beer-10A
    """
    return EBC_OF_SRM * srm


@method
def ebc_to_srm(ebc: Number) -> Number:
    """Colour in SRM from EBC units.

    Formula:
        SRM = 12.7 / 25 EBC
    Inputs:
        ebc: EBC, 0 to 10000
    Result: SRM
    Uncertainty: none between the two scales of one absorbance; 0.1 % from rounding to 1.97
    Source: Analytica-EBC 9.6; ASBC Methods of Analysis, Beer-10A
    """
    return ebc / EBC_OF_SRM


@method
def malt_colour_units(grist: Sequence[tuple[Number, Number]], volume: Number) -> Number:
    """Colour that the grist brings for each gallon.

    Degrees Lovibond are taken as maltsters state them today, from a photometer, that is as SRM.

    Formula:
        MCU = sum of pounds times degL, over US gallons; degL = EBC / 1.97
    Inputs:
        grist: pairs of kg and EBC; each malt and its colour
        volume: L, 0.1 to 10000; wort at 20 degC at the end of the boil
    Result: MCU, lb degL per US gal
    Uncertainty: as the colours of malt as stated, U = 10 %
    Source: definition; R. Daniels 1996, Designing Great Beers, ch. 7
    """
    total: Number = 0.0
    for amount, ebc in grist:
        if nominal(amount) < 0 or nominal(ebc) < 0:
            raise ValueError("amount and colour of a malt cannot be below 0")
        total = total + amount * ebc / EBC_OF_SRM
    return total * _POUNDS / (volume * _GALLONS)


_ADDITIVE = 31.0 / 32.3
"""SRM for one malt colour unit: pounds times degL of a barrel of 31 US gal, over 32.3."""


@method
def srm_additive(mcu: Number) -> Number:
    """Colour of the beer as the sum of what its malts bring.

    The colour of a malt is that of its Congress wort, 50 g in 450 g, and what absorbs light adds
    up: wort takes its colour in proportion to malt and water. The factor counts in what the
    brewery does not recover (a Congress wort with nothing lost has 1.02). Boiling adds some EBC to
    pale wort and fermentation takes about as much away.

    Formula:
        SRM = 31 / 32.3 MCU
    Inputs:
        mcu: lb degL per US gal, 0 to 5000 (trusted 0 to 450)
    Result: SRM
    Uncertainty: U = 15 % of the value from the recovery, and 2 EBC from boil and fermentation,
        beside that of the malts' colours
    Source: D.J. Bies and R.M. Hansen 2010, Determining formula from beer color and predicting beer
        color from formula, MBAA Brewing Summit; light adds up: J.A.S. Viggiano 2006,
        Spectrophotometric analysis of beer and wort, Rochester Institute of Technology; wort of
        890 EBC: S. Coghe and others 2005, J. Inst. Brew. 111(1):51
    """
    return _ADDITIVE * mcu


@method
def srm_power_law(mcu: Number) -> Number:
    """Colour of the beer by a power law.

    It was fitted to three straight lines of earlier writers, not to measured beers. Take it if
    your aims for colour were set by it.

    Formula:
        SRM = 1.4922 MCU^0.6859
    Inputs:
        mcu: lb degL per US gal, 0 to 5000 (trusted 0 to 37)
    Result: SRM
    Uncertainty: U = 30 % of the value; too low by more for dark beers
    Source: D.A. Morey, Beer color, Brewing Techniques, Beer's Law
    """
    if nominal(mcu) == 0:
        return 0.0 * mcu
    return 1.4922 * mcu**0.6859


MODELS: Mapping[str, Callable[[Number], Number]] = {
    "additive": srm_additive,
    "power_law": srm_power_law,
}
"""Colour of the beer, SRM, from malt colour units."""

DEFAULT = "additive"
# It follows from how the colour of malt is measured and from the law of absorption, which was found
# to hold for beers and worts. A published wort of half roasted malt had 890 EBC; the sum gives that
# for malt of 1400 EBC, as roasted malt is, the power law only for malt of 12,000 EBC.


@method
def colour(
    grist: Sequence[tuple[Number, Number]], volume: Number, model: str = DEFAULT
) -> Number:
    """Colour of the beer expected of a grist.

    Formula:
        EBC = 25 / 12.7 SRM(MCU), by the model
    Inputs:
        grist: pairs of kg and EBC; each malt and its colour
        volume: L, 0.1 to 10000; wort at 20 degC at the end of the boil
        model: key of MODELS
    Result: EBC
    Uncertainty: that of the model
    Source: that of the model
    """
    return srm_to_ebc(MODELS[model](malt_colour_units(grist, volume)))
