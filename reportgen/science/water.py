"""Water analysis: is it possible, how hard, how alkaline, and what mixing and boiling do to it.

A liquor is a mapping of ions to mg/L with the keys calcium, magnesium, sodium, potassium,
ammonium, chloride, sulfate, nitrate, bicarbonate, carbonate. Bicarbonate is the alkalinity
expressed as bicarbonate, as a report prints it. The key alkalinity (mEq/L) stands for the same
quantity and goes before bicarbonate where both are given; it may be negative after strong acid.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from types import MappingProxyType
from typing import Any

from reportgen.science.carbonate import log_activity
from reportgen.science.method import method
from reportgen.science.number import Number, nominal
from reportgen.science.salts import (
    ATOMIC_WEIGHTS,
    ION_CHARGE,
    ION_MASS,
    SALTS,
    gypsum_solubility,
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
    Uncertainty: U = 3 to 5 % for an analysis good to 2 to 5 % in each ion
    Source: Standard Methods for the Examination of Water and Wastewater, 1030 E
    """
    positive, negative = cations(ions), anions(ions)
    total = positive + negative
    if nominal(total) == 0.0:
        return 0.0
    return 100.0 * ((positive - negative) / total)


@method
def ion_balance_limit(anion_sum: Number) -> Number:
    """Largest charge difference that a good analysis should show.

    Formula:
        0.2 mEq/L to 3.0 mEq/L of anions; 2 % to 10 mEq/L; 5 % above
    Inputs:
        anion_sum: mEq/L, 0 to 1000
    Result: mEq/L, the absolute difference of cations and anions accepted
    Uncertainty: a convention
    Source: Standard Methods for the Examination of Water and Wastewater, 1030 E
    """
    if nominal(anion_sum) <= 3.0:
        return 0.2
    return anion_sum * (0.02 if nominal(anion_sum) <= 10.0 else 0.05)


@method
def hardness(calcium: Number, magnesium: Number) -> Number:
    """Total hardness from calcium and magnesium.

    Formula:
        H = 100.086 (Ca/40.078 + Mg/24.305)
    Inputs:
        calcium: mg/L, 0 to 5000
        magnesium: mg/L, 0 to 5000
    Result: mg/L CaCO3
    Uncertainty: 0.02 % beyond that of the analysis
    Source: Standard Methods for the Examination of Water and Wastewater, 2340 B
    """
    return _LIME * (calcium / ION_MASS["calcium"] + magnesium / ION_MASS["magnesium"])


@method
def temporary_hardness(total_hardness: Number, alkalinity_caco3: Number) -> Number:
    """Hardness that boiling can throw down.

    Formula:
        the smaller of hardness and alkalinity
    Inputs:
        total_hardness: mg/L CaCO3, 0 to 10000
        alkalinity_caco3: mg/L CaCO3, -1000 to 10000
    Result: mg/L CaCO3; boiling leaves some 20 to 40 mg/L of it
    Uncertainty: a definition
    Source: W. Kunze 2014, Technology Brewing and Malting, 5th ed., 1.3; carbonate hardness
    """
    if nominal(alkalinity_caco3) <= 0.0:
        return 0.0
    return min(total_hardness, alkalinity_caco3, key=nominal)


@method
def permanent_hardness(total_hardness: Number, alkalinity_caco3: Number) -> Number:
    """Hardness that boiling leaves.

    Formula:
        hardness less temporary hardness
    Inputs:
        total_hardness: mg/L CaCO3, 0 to 10000
        alkalinity_caco3: mg/L CaCO3, -1000 to 10000
    Result: mg/L CaCO3
    Uncertainty: a definition
    Source: W. Kunze 2014, Technology Brewing and Malting, 5th ed., 1.3; non-carbonate hardness
    """
    return total_hardness - temporary_hardness(total_hardness, alkalinity_caco3)


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
def wort_ph_shift(residual_alkalinity: Number) -> Number:
    """Shift of the pH of cast-out wort that residual alkalinity brings, against pure water.

    For wort of about 12 degP at the end of the boil, not for the mash.

    Formula:
        dpH = 0.03 RA in German degrees = 0.0841 RA in mEq/L
    Inputs:
        residual_alkalinity: mEq/L, -20 to 20 (trusted -2 to 6)
    Result: pH units
    Uncertainty: U = 30 % of the shift
    Source: P. Kolbach 1953, Monatsschrift fuer Brauerei 6(5):49-52
    """
    return WORT_SLOPE * residual_alkalinity


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


@method
def blend_fraction(target: Number, concentration: Number, diluent: Number = 0.0) -> Number:
    """Share of a liquor in a blend that brings one ion to a target.

    Formula:
        f = (target - diluent)/(concentration - diluent)
    Inputs:
        target: mg/L, 0 to 5000; or mEq/L, the same for all three
        concentration: mg/L, 0 to 5000; in the liquor
        diluent: mg/L, 0 to 5000; in the water it is blended with
    Result: fraction, 0 to 1. ValueError when no blend of the two reaches the target
    Uncertainty: as the analysis
    Source: mass balance
    """
    low, high = sorted((nominal(concentration), nominal(diluent)))
    if low == high or not low <= nominal(target) <= high:
        raise ValueError(f"no blend of {high:g} and {low:g} gives {nominal(target):g}")
    return (target - diluent) / (concentration - diluent)


@method
def concentrate(ions: Ions, volume_before: Number, volume_after: Number) -> dict[str, Number]:
    """Ions after boiling down or topping up with pure water.

    Counts every ion as staying dissolved. In a real boil some calcium is lost with phosphate and
    oxalate.

    Formula:
        c_2 = c_1 V_1/V_2
    Inputs:
        ions: mg/L by ion; alkalinity in mEq/L
        volume_before: L, 0.01 to 10000
        volume_after: L, 0.01 to 10000
    Result: mapping of ion to mg/L
    Uncertainty: as the volumes; calcium may be a third lower in the beer (from memory)
    Source: mass balance
    """
    ratio = volume_before / volume_after
    return {ion: value * ratio for ion, value in ions.items()}


@method
def nitrate_from_nitrogen(nitrogen: Number) -> Number:
    """Nitrate from a report that gives it as nitrogen.

    Formula:
        NO3 = N 62.004/14.007
    Inputs:
        nitrogen: mg/L, 0 to 1000; nitrate as N
    Result: mg/L nitrate
    Uncertainty: 0.01 %
    Source: stoichiometry; abridged standard atomic weights, CIAAW 2021
    """
    return nitrogen * ION_MASS["nitrate"] / ATOMIC_WEIGHTS["N"]


@method
def sulfate_from_sulfur(sulfur: Number) -> Number:
    """Sulfate from a report that gives it as sulfur.

    Formula:
        SO4 = S 96.056/32.06
    Inputs:
        sulfur: mg/L, 0 to 1000; sulfate as S
    Result: mg/L sulfate
    Uncertainty: 0.05 %
    Source: stoichiometry; abridged standard atomic weights, CIAAW 2021
    """
    return sulfur * ION_MASS["sulfate"] / ATOMIC_WEIGHTS["S"]


@method
def sulfate_to_chloride(sulfate: Number, chloride: Number) -> Number | None:
    """Ratio of sulfate to chloride: a word for the taste, not a law.

    Formula:
        SO4/Cl by mass
    Inputs:
        sulfate: mg/L, 0 to 10000
        chloride: mg/L, 0 to 10000
    Result: ratio by mass; None unless both are above 25 mg/L
    Uncertainty: as the two ions
    Source: D.G. Taylor 2006, Handbook of Brewing, 2nd ed., ch. 4
    """
    if nominal(sulfate) <= 25.0 or nominal(chloride) <= 25.0:
        return None
    return sulfate / chloride


@method
def dissolved_solids(ions: Ions, silica: Number = 0.0) -> Number:
    """Calculated total dissolved solids, as the residue on drying would weigh.

    Formula:
        TDS = 0.6 Alk(CaCO3) + Na + K + Ca + Mg + Cl + SO4 + NO3 + SiO3
    Inputs:
        ions: mg/L by ion; alkalinity in mEq/L
        silica: mg/L, 0 to 200; as SiO3
    Result: mg/L
    Uncertainty: U = 10 %
    Source: Standard Methods for the Examination of Water and Wastewater, 1030 E
    """
    listed = ("calcium", "magnesium", "sodium", "potassium", *ANIONS)
    return (
        0.6 * alkalinity(ions) * CARBONATE_PER_EQUIVALENT
        + sum((ions.get(ion, 0.0) for ion in listed), 0.0)
        + silica
    )


@method
def ionic_strength(ions: Ions) -> Number:
    """Ionic strength of a liquor.

    Formula:
        I = 1/2 sum c_i z_i^2
    Inputs:
        ions: mg/L by ion; alkalinity in mEq/L
    Result: mol/L
    Uncertainty: as the analysis, U about 3 %
    Source: G.N. Lewis and M. Randall 1921, J. Am. Chem. Soc. 43:1112
    """
    total = alkalinity(ions)
    for ion in (*CATIONS, *ANIONS):
        total = total + ions.get(ion, 0.0) / ION_MASS[ion] * ION_CHARGE[ion] ** 2
    return 0.5e-3 * total


_MOLAR_CONDUCTIVITY: Mapping[str, float] = MappingProxyType(
    {
        "calcium": 59.47,
        "magnesium": 53.0,
        "sodium": 50.08,
        "potassium": 73.48,
        "ammonium": 73.5,
        "chloride": 76.31,
        "sulfate": 80.0,
        "nitrate": 71.42,
        "bicarbonate": 44.5,
    }
)
"""Equivalent conductivity at infinite dilution and 25 degC, S cm2/mol (CRC Handbook)."""


@dataclass(frozen=True)
class IonReading:
    """One way to read a doubtful analysis, and the ion balance, percent, it gives.

    ``alkalinity_as`` is bicarbonate, carbonate or caco3; ``nitrate_as`` nitrate or nitrogen;
    ``sulfate_as`` sulfate or sulfur.
    """

    alkalinity_as: str
    nitrate_as: str
    sulfate_as: str
    balance: float


@method
def likely_readings(ions: Ions) -> list[IonReading]:
    """Ways to read the units of a doubtful analysis, the best ion balance first.

    Reports differ in what alkalinity, nitrate and sulfate are expressed as, and seldom say so
    plainly. That a reading closes does not prove it right; that none does proves the analysis
    wrong.

    Formula:
        B of ion_balance for each of alkalinity as HCO3, CO3, CaCO3; nitrate as NO3, N; sulfate as
        SO4, S
    Inputs:
        ions: mg/L by ion; the number for alkalinity under bicarbonate or carbonate
    Result: list of IonReading, least absolute balance first
    Uncertainty: as ion_balance
    Source: Standard Methods for the Examination of Water and Wastewater, 1030 E
    """
    base = {ion: nominal(value) for ion, value in ions.items()}
    stated = "carbonate" if "carbonate" in base else "bicarbonate"
    number = base.pop("bicarbonate", 0.0) + base.pop("carbonate", 0.0)
    given = base.pop("alkalinity", None)
    alkaline = {stated: given}
    if given is None:
        units = ("bicarbonate", "carbonate", "caco3") if number else (stated,)
        alkaline = {unit: float(convert_hardness(number, unit)) for unit in units}
    nitrates = {"nitrate": base.get("nitrate", 0.0)}
    if nitrates["nitrate"]:
        nitrates["nitrogen"] = float(nitrate_from_nitrogen(nitrates["nitrate"]))
    sulfates = {"sulfate": base.get("sulfate", 0.0)}
    if sulfates["sulfate"]:
        sulfates["sulfur"] = float(sulfate_from_sulfur(sulfates["sulfate"]))
    found = []
    for (a, equivalents), (n, nitrate), (s, sulfate) in product(
        alkaline.items(), nitrates.items(), sulfates.items()
    ):
        reading = {**base, "alkalinity": equivalents, "nitrate": nitrate, "sulfate": sulfate}
        found.append(IonReading(a, n, s, float(ion_balance(reading))))
    return sorted(found, key=lambda reading: abs(reading.balance))


_PAIR_CALCIUM = 2.25
_PAIR_MAGNESIUM = 2.37


def _free_sulfate(
    calcium: Number, magnesium: Number, sulfate: Number, ionic: Number, temperature: Number
) -> tuple[Number, Number, Number]:
    """Return free calcium, free sulfate (mol/L) and the activity coefficient of a double charge."""
    activity = 10.0 ** (-4.0 * log_activity(ionic, temperature))
    # The heats of pairing, 1.325 and 4.55 kcal/mol, as van 't Hoff slopes against 25 degC.
    kelvin = 1.0 / 298.15 - 1.0 / (temperature + 273.15)
    with_calcium = 10.0 ** (_PAIR_CALCIUM + 289.6 * kelvin) * activity * activity
    with_magnesium = 10.0 ** (_PAIR_MAGNESIUM + 994.4 * kelvin) * activity * activity
    free = sulfate
    for _ in range(40):
        free = sulfate / (
            1.0
            + with_calcium * calcium / (1.0 + with_calcium * free)
            + with_magnesium * magnesium / (1.0 + with_magnesium * free)
        )
    return calcium / (1.0 + with_calcium * free), free, activity


@method
def conductivity(ions: Ions) -> Number:
    """Electrical conductivity at 25 degC estimated from the ions.

    Calcium and magnesium paired with sulfate carry no current.

    Formula:
        k = sum lambda_i c_i g_i^(0.6/sqrt z_i), free ions, c mEq/L, g activity coefficient (Davies)
    Inputs:
        ions: mg/L by ion; alkalinity in mEq/L
    Result: uS/cm at 25 degC
    Uncertainty: U = 5 % below 2000 uS/cm
    Source: C.A.J. Appelo 2010, Specific conductance: how to calculate, to use, and the pitfalls;
        D.L. Parkhurst and C.A.J. Appelo 2013, USGS Techniques and Methods 6-A43; limiting
        conductivities of CRC Handbook of Chemistry and Physics, 102nd ed. 2021
    """
    calcium, magnesium, sulfate = (
        ions.get(ion, 0.0) / ION_MASS[ion] / 1000.0 for ion in ("calcium", "magnesium", "sulfate")
    )
    strength = ionic_strength(ions)
    if nominal(strength) <= 0.0:
        return 0.0
    free_calcium, free, _ = _free_sulfate(calcium, magnesium, sulfate, strength, 25.0)
    paired = sulfate - free
    lost = {
        "calcium": 2000.0 * (calcium - free_calcium),
        "magnesium": 2000.0 * (paired - calcium + free_calcium),
        "sulfate": 2000.0 * paired,
    }
    activity = log_activity(strength - 4.0 * paired, 25.0)
    single = 10.0 ** (-0.6 * activity)
    double = 10.0 ** (-4.0 * 0.6 / 2.0**0.5 * activity)
    carried = _MOLAR_CONDUCTIVITY["bicarbonate"] * alkalinity(ions) * single
    for ion in (*CATIONS, *ANIONS):
        equivalents = ions.get(ion, 0.0) / EQUIVALENT_MASS[ion] - lost.get(ion, 0.0)
        slowed = single if abs(ION_CHARGE[ion]) == 1 else double
        carried = carried + _MOLAR_CONDUCTIVITY[ion] * equivalents * slowed
    return carried


@method
def gypsum_saturation(ions: Ions, temperature: Number = 20.0) -> Number:
    """How near a liquor is to dropping gypsum: 1 is saturated.

    The ion activity product of calcium and sulfate over that of water saturated with gypsum.

    Formula:
        S = {Ca}{SO4}/K;  K from gypsum_solubility; pairs CaSO4 and MgSO4 with log K 2.25 and 2.37
        at 25 degC; activities of Davies
    Inputs:
        ions: mg/L by ion; alkalinity in mEq/L
        temperature: degC, 0 to 80
    Result: ratio; above 1 gypsum does not dissolve, or settles
    Uncertainty: U = 12 %, as twice the solubility
    Source: C.W. Davies 1962, Ion Association; pair constants of D.L. Parkhurst and C.A.J. Appelo
        2013, USGS Techniques and Methods 6-A43 (phreeqc.dat)
    """
    limit = gypsum_solubility(temperature) / SALTS["gypsum"].molar_mass
    free: Number = limit
    for _ in range(40):
        _, free, _ = _free_sulfate(limit, 0.0, limit, 4.0 * free, temperature)
    _, free, activity = _free_sulfate(limit, 0.0, limit, 4.0 * free, temperature)
    saturated = (free * activity) ** 2
    # The pairs carry no charge, so the ionic strength of the free ions is less than the sum.
    calcium = ions.get("calcium", 0.0) / ION_MASS["calcium"] / 1000.0
    magnesium = ions.get("magnesium", 0.0) / ION_MASS["magnesium"] / 1000.0
    sulfate = ions.get("sulfate", 0.0) / ION_MASS["sulfate"] / 1000.0
    total = ionic_strength(ions)
    strength, free_calcium, free_sulfate, activity = total, calcium, sulfate, 1.0
    for _ in range(20):
        free_calcium, free_sulfate, activity = _free_sulfate(
            calcium, magnesium, sulfate, strength, temperature
        )
        strength = total - 4.0 * (sulfate - free_sulfate)
    return free_calcium * free_sulfate * activity * activity / saturated


DRINKING_WATER_LIMITS: Mapping[str, float] = MappingProxyType(
    {"chloride": 250.0, "sulfate": 250.0, "sodium": 200.0, "nitrate": 50.0}
)
"""Values for drinking water in the European Union, mg/L: nitrate a limit of health (Directive
98/83/EC, Annex I, Part B), the others of general quality (Part C); Directive (EU) 2020/2184 has
them too (from memory). A guide for liquor, not a rule for beer."""
