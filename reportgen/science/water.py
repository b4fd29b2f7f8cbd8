"""Water analysis: is it possible, how hard, how alkaline, and what mixing and boiling do to it.

A liquor is a mapping of ions to mg/L with the keys calcium, magnesium, sodium, potassium,
ammonium, chloride, sulfate, nitrate, bicarbonate, carbonate. Bicarbonate is the alkalinity
expressed as bicarbonate, as a report prints it. The key alkalinity (mEq/L) stands for the same
quantity and goes before bicarbonate where both are given; it may be negative after strong acid.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from reportgen.science.method import method
from reportgen.science.number import Number, nominal
from reportgen.science.salts import (
    ION_CHARGE,
    ION_MASS,
    molar_mass,
)

Ions = Mapping[str, Any]
"""Ion to mg/L, with alkalinity in mEq/L."""

EQUIVALENT_MASS: Mapping[str, float] = MappingProxyType(
    {ion: mass / abs(ION_CHARGE[ion]) for ion, mass in ION_MASS.items()}
)
"""mg of each ion in one mEq."""

CATIONS = ("calcium", "magnesium", "sodium", "potassium", "ammonium")
ANIONS = ("chloride", "sulfate", "nitrate")

_LIME = molar_mass({"Ca": 1, "C": 1, "O": 3})
CARBONATE_PER_EQUIVALENT = _LIME / 2.0
"""mg CaCO3 in one mEq."""

GERMAN_DEGREE = 10.0 / (molar_mass({"Ca": 1, "O": 1}) / 2.0)
"""mEq/L in one German degree (10 mg CaO per litre)."""

FRENCH_DEGREE = 10.0 / CARBONATE_PER_EQUIVALENT
"""mEq/L in one French degree (10 mg CaCO3 per litre)."""

ENGLISH_DEGREE = 64.79891 / 4.54609 / CARBONATE_PER_EQUIVALENT
"""mEq/L in one English (Clark) degree (one grain of CaCO3 per imperial gallon)."""

UNITS_OF_HARDNESS: Mapping[str, float] = MappingProxyType(
    {
        "meq": 1.0,
        "mmol": 2.0,
        "caco3": 1.0 / CARBONATE_PER_EQUIVALENT,
        "bicarbonate": 1.0 / EQUIVALENT_MASS["bicarbonate"],
        "carbonate": 1.0 / EQUIVALENT_MASS["carbonate"],
        "german": GERMAN_DEGREE,
        "french": FRENCH_DEGREE,
        "english": ENGLISH_DEGREE,
    }
)
"""mEq/L in one of each unit of hardness or alkalinity (mmol is of CaCO3)."""


@method
def convert_hardness(value: Number, unit: str, wanted: str = "meq") -> Number:
    """Hardness or alkalinity from one unit to another.

    Units: meq (mEq/L), mmol (mmol/L CaCO3), caco3, bicarbonate, carbonate (mg/L expressed as
    that), german, french, english (degrees).

    Formula:
        1 degree German = 10 mg CaO/L; French = 10 mg CaCO3/L; English = 1 grain CaCO3 per
        imperial gallon = 14.254 mg/L; 1 mEq/L = 50.04 mg CaCO3/L = 61.02 mg HCO3/L
    Inputs:
        value: unit, -1000000 to 1000000
        unit: key of UNITS_OF_HARDNESS
        wanted: key of UNITS_OF_HARDNESS
    Result: the same quantity in the unit wanted
    Uncertainty: none beyond the atomic weights, 0.01 %
    Source: definitions; abridged standard atomic weights, CIAAW 2021
    """
    return value * UNITS_OF_HARDNESS[unit] / UNITS_OF_HARDNESS[wanted]


@method
def alkalinity(ions: Ions) -> Number:
    """Alkalinity of a liquor.

    Formula:
        Alk = HCO3/61.016 + CO3/30.004, or the entry alkalinity where there is one
    Inputs:
        ions: mg/L by ion; alkalinity in mEq/L
    Result: mEq/L
    Uncertainty: that of the analysis, commonly 2 to 5 %
    Source: definition; Standard Methods for the Examination of Water and Wastewater, 2320
    """
    given = ions.get("alkalinity")
    if given is not None:
        return given
    return (
        ions.get("bicarbonate", 0.0) / EQUIVALENT_MASS["bicarbonate"]
        + ions.get("carbonate", 0.0) / EQUIVALENT_MASS["carbonate"]
    )


@method
def cations(ions: Ions) -> Number:
    """Sum of the positive charges of an analysis.

    Formula:
        sum of c/equivalent mass over calcium, magnesium, sodium, potassium, ammonium
    Inputs:
        ions: mg/L by ion
    Result: mEq/L
    Uncertainty: that of the analysis, commonly 2 to 5 %
    Source: Standard Methods for the Examination of Water and Wastewater, 1030 E
    """
    return sum((ions.get(ion, 0.0) / EQUIVALENT_MASS[ion] for ion in CATIONS), 0.0)


@method
def anions(ions: Ions) -> Number:
    """Sum of the negative charges of an analysis, with alkalinity.

    Formula:
        Alk + sum of c/equivalent mass over chloride, sulfate, nitrate
    Inputs:
        ions: mg/L by ion; alkalinity in mEq/L
    Result: mEq/L
    Uncertainty: that of the analysis, commonly 2 to 5 %
    Source: Standard Methods for the Examination of Water and Wastewater, 1030 E
    """
    return alkalinity(ions) + sum(
        (ions.get(ion, 0.0) / EQUIVALENT_MASS[ion] for ion in ANIONS), 0.0
    )


@method
def ion_balance(ions: Ions) -> Number:
    """Charge balance of a water analysis.

    A possible water has as much positive as negative charge. Positive result: anions are missing.

    Formula:
        B = 100 (cations - anions)/(cations + anions)
    Inputs:
        ions: mg/L by ion; alkalinity in mEq/L
    Result: percent; 0 for an empty analysis
    Uncertainty: as the analysis, U = 3 to 5 % for one good to 2 to 5 % in each ion
    Source: Standard Methods for the Examination of Water and Wastewater, 1030 E
    """
    positive, negative = cations(ions), anions(ions)
    total = positive + negative
    if nominal(total) == 0.0:
        return 0.0
    return 100.0 * ((positive - negative) / total)


CALCIUM_PER_ACID = 3.5
MAGNESIUM_PER_ACID = 7.0


@method
def residual_alkalinity(alkalinity: Number, calcium: Number, magnesium: Number) -> Number:
    """Residual alkalinity: the alkalinity that malt phosphate does not make good.

    Formula:
        RA = Alk - Ca/3.5 - Mg/7, all in mEq/L
    Inputs:
        alkalinity: mEq/L, -50 to 50
        calcium: mg/L, 0 to 2000 (trusted 0 to 200)
        magnesium: mg/L, 0 to 1000 (trusted 0 to 60)
    Result: mEq/L
    Uncertainty: exact as a definition; the two divisors describe pH to about 25 %
    Source: P. Kolbach 1953, Monatsschrift fuer Brauerei 6(5):49-52
    """
    return (
        alkalinity
        - calcium / EQUIVALENT_MASS["calcium"] / CALCIUM_PER_ACID
        - magnesium / EQUIVALENT_MASS["magnesium"] / MAGNESIUM_PER_ACID
    )


WORT_SLOPE = 0.03 / GERMAN_DEGREE
"""Shift of wort pH for 1 mEq/L of residual alkalinity: 0.3 for ten German degrees."""


@method
def mix(liquors: Sequence[tuple[Number, Ions]]) -> dict[str, Number]:
    """Ions of several liquors mixed.

    Alkalinity mixes by volume, pH does not. Where any liquor states bicarbonate, carbonate or
    alkalinity the result has both alkalinity and bicarbonate (the same quantity).

    Formula:
        c = sum V_i c_i/sum V_i
    Inputs:
        liquors: list of pairs; volume in L and ions in mg/L
    Result: mapping of ion to mg/L, with alkalinity in mEq/L
    Uncertainty: as the volumes
    Source: mass balance
    """
    volume = sum((v for v, _ in liquors), 0.0)
    if nominal(volume) <= 0.0 or any(nominal(v) < 0.0 for v, _ in liquors):
        raise ValueError("the volumes mixed must not be negative and must sum to more than 0 L")
    alkaline = {"bicarbonate", "carbonate", "alkalinity"}
    keys = dict.fromkeys(key for _, ions in liquors for key in ions)
    mixed: dict[str, Number] = {
        key: sum((v * ions.get(key, 0.0) for v, ions in liquors), 0.0) / volume
        for key in keys
        if key not in alkaline
    }
    if alkaline & set(keys):
        mixed.update(_alkaline(sum((v * alkalinity(ions) for v, ions in liquors), 0.0) / volume))
    return mixed


def _alkaline(equivalents: Number) -> dict[str, Number]:
    """Return an alkalinity as the two entries of a liquor."""
    bicarbonate = equivalents * EQUIVALENT_MASS["bicarbonate"]
    return {
        "bicarbonate": bicarbonate if nominal(bicarbonate) > 0.0 else 0.0,
        "alkalinity": equivalents,
    }


@method
def add(ions: Ions, increase: Ions) -> dict[str, Number]:
    """Ions of a liquor after salts or acid have been added.

    Formula:
        c = c_0 + increase
    Inputs:
        ions: mg/L by ion; the liquor before
        increase: mg/L by ion; alkalinity in mEq/L
    Result: mapping of ion to mg/L, with alkalinity in mEq/L
    Uncertainty: as the dose and the volume
    Source: mass balance
    """
    alkaline = {"bicarbonate", "carbonate", "alkalinity"}
    keys = dict.fromkeys([*ions, *increase])
    total: dict[str, Number] = {
        key: ions.get(key, 0.0) + increase.get(key, 0.0) for key in keys if key not in alkaline
    }
    if alkaline & set(keys):
        total.update(_alkaline(alkalinity(ions) + alkalinity(increase)))
    return total
