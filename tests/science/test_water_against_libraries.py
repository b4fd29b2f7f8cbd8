"""Water analyses held against chempy, pint and the PHREEQC engine."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from reportgen.science import water

CHECKS = (
    "water.convert_hardness",
    "water.alkalinity",
    "water.cations",
    "water.anions",
    "water.ion_balance",
    "water.residual_alkalinity",
    "water.mix",
    "water.add",
)

# Printed analyses, mg/L, as their sources give them.
WATERS: dict[str, dict[str, float]] = {
    # A London water board supply, in a mid-twentieth-century brewing textbook.
    "chalk supply": {
        "sodium": 24.2,
        "calcium": 89.8,
        "magnesium": 4.28,
        "nitrate": 2.85,
        "chloride": 18.5,
        "sulfate": 58.4,
        "carbonate": 122.6,
    },
    # Dublin, Wahl and Henius 1902.
    "Dublin": {
        "calcium": 119,
        "magnesium": 4,
        "sodium": 12,
        "sulfate": 53,
        "chloride": 19,
        "carbonate": 156,
    },
    "Dublin, as bicarbonate": {
        "calcium": 118,
        "magnesium": 4,
        "sodium": 12,
        "sulfate": 54,
        "chloride": 19,
        "bicarbonate": 319,
    },
    # Burton, Hough, Briggs and Stevens.
    "Burton": {
        "calcium": 268,
        "magnesium": 62,
        "sodium": 54,
        "sulfate": 638,
        "chloride": 36,
        "bicarbonate": 275,
    },
    # Edinburgh, a list in wide use: its charges cannot be true.
    "Edinburgh": {
        "calcium": 140,
        "magnesium": 60,
        "sodium": 80,
        "sulfate": 96,
        "chloride": 34,
        "carbonate": 140,
    },
    # An open data set of groundwater.
    "groundwater": {
        "calcium": 25.96,
        "magnesium": 9.41,
        "sodium": 11.27,
        "potassium": 3.20,
        "chloride": 4.7,
        "sulfate": 17,
        "bicarbonate": 99,
        "nitrate": 20,
    },
}
SYMBOLS = {
    "calcium": "Ca+2",
    "magnesium": "Mg+2",
    "sodium": "Na+",
    "potassium": "K+",
    "chloride": "Cl-",
    "sulfate": "SO4-2",
    "nitrate": "NO3-",
    "bicarbonate": "HCO3-",
    "carbonate": "CO3-2",
}


@cache
def engine() -> Any:
    return pytest.importorskip("phreeqpython").PhreeqPython()


def charges(ions: dict[str, float]) -> tuple[float, float]:
    """Positive and negative mEq/L by chempy's charges and masses."""
    chempy = pytest.importorskip("chempy")
    positive = negative = 0.0
    for ion, mg in ions.items():
        substance = chempy.Substance.from_formula(SYMBOLS[ion])
        equivalents = mg * substance.charge / substance.mass
        if equivalents > 0:
            positive += equivalents
        else:
            negative -= equivalents
    return positive, negative


@pytest.mark.parametrize("name", WATERS)
def test_cations(name: str) -> None:
    assert water.cations(WATERS[name]) == pytest.approx(charges(WATERS[name])[0], rel=2e-4)


@pytest.mark.parametrize("name", WATERS)
def test_anions(name: str) -> None:
    assert water.anions(WATERS[name]) == pytest.approx(charges(WATERS[name])[1], rel=2e-4)


@pytest.mark.parametrize("name", WATERS)
def test_balance(name: str) -> None:
    positive, negative = charges(WATERS[name])
    balance = 100 * (positive - negative) / (positive + negative)
    assert water.ion_balance(WATERS[name]) == pytest.approx(balance, abs=0.02)


@pytest.mark.parametrize(
    ("unit", "of"),
    [("german", 10.0), ("french", 10.0), ("english", None), ("mmol", None), ("bicarbonate", 1.0)],
)
def test_units_of_hardness(unit: str, of: float | None) -> None:
    chempy = pytest.importorskip("chempy")
    pint = pytest.importorskip("pint")

    def mass(formula: str) -> float:
        return float(chempy.Substance.from_formula(formula).mass)

    if unit == "german":
        expected = 10.0 / mass("CaO") * mass("CaCO3")
    elif unit == "french":
        expected = 10.0
    elif unit == "english":
        registry = pint.UnitRegistry()
        expected = (1 * registry.grain / registry.imperial_gallon).to("mg/L").magnitude
    elif unit == "mmol":
        expected = mass("CaCO3")
    else:
        expected = mass("CaCO3") / 2 / mass("HCO3-")
    assert water.convert_hardness(1.0, unit, "caco3") == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("ion", ["calcium", "magnesium", "sodium", "chloride", "sulfate"])
def test_blend(ion: str) -> None:
    tap = {"calcium": 110, "magnesium": 12, "sodium": 30, "chloride": 55, "sulfate": 60}
    elements = {
        "calcium": "Ca",
        "magnesium": "Mg",
        "sodium": "Na",
        "chloride": "Cl",
        "sulfate": "S",
    }
    symbol = SYMBOLS[ion]
    mass = pytest.importorskip("chempy").Substance.from_formula(symbol).mass
    names = {"calcium": "Ca", "magnesium": "Mg", "sodium": "Na", "chloride": "Cl"}
    hard = engine().add_solution(
        {
            "units": "mg/l",
            "pH": 7,
            "S(6)": f"{tap['sulfate']} as SO4",
            **{names[i]: tap[i] for i in names},
        }
    )
    pure = engine().add_solution({"pH": 7})
    mixed = hard * 0.4 + pure * 0.6
    total = mixed.total_element(elements[ion], units="mmol") * mass
    assert water.mix([(4.0, tap), (6.0, {})])[ion] == pytest.approx(total, rel=2e-3)


def full(name: str, ph: float) -> Any:
    """The analysis as a PHREEQC solution at 25 degC."""
    ions = WATERS[name]
    spec: dict[str, Any] = {"units": "mmol/l", "pH": ph, "temp": 25}
    names = {
        "calcium": "Ca",
        "magnesium": "Mg",
        "sodium": "Na",
        "potassium": "K",
        "chloride": "Cl",
        "sulfate": "S(6)",
        "nitrate": "N(5)",
    }
    for ion, element in names.items():
        if ion in ions:
            spec[element] = ions[ion] / water.ION_MASS[ion]
    spec["Alkalinity"] = water.alkalinity(ions)
    return engine().add_solution(spec)


def test_residual_alkalinity_in_german_degrees() -> None:
    """The first form: carbonate hardness less (calcium + half the magnesium)/3.5, all in
    German degrees."""
    chempy = pytest.importorskip("chempy")
    calcium, magnesium, alkalinity = 100.0, 10.0, 3.0
    degree = 10.0 / chempy.Substance.from_formula("CaO").mass  # mmol/L in one degree
    lime = calcium / chempy.Substance.from_formula("Ca").mass / degree
    magnesia = magnesium / chempy.Substance.from_formula("Mg").mass / degree
    expected = alkalinity / 2 / degree - (lime + 0.5 * magnesia) / 3.5
    found = water.residual_alkalinity(alkalinity, calcium, magnesium)
    assert water.convert_hardness(found, "meq", "german") == pytest.approx(expected, rel=1e-4)


def test_salts_added_and_boiled_down_by_phreeqc() -> None:
    tap = {"calcium": 40.0, "sulfate": 30.0, "chloride": 25.0}
    from reportgen.science.salts import ion_increase

    salted = water.add(tap, ion_increase("gypsum", 5.0, 15.0))
    solution = engine().add_solution(
        {"units": "mg/kgw", "pH": 7, "Ca": 40, "S(6)": "30 as SO4", "Cl": 25}
    )
    solution.add("CaSO4", 1000 * 5.0 / 15.0 / 172.164, "mmol")
    solution.add("H2O", -55508.0 * 0.2, "mmol")
    kept = solution.total_element("Ca", units="mmol") * 40.078 / solution.mass
    solution.forget()
    assert salted["calcium"] * 15.0 / 12.0 == pytest.approx(kept, rel=3e-3)
