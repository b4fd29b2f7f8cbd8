"""Salts held against molmass, chempy and the PHREEQC engine."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from reportgen.science import salts
from reportgen.science.salts import ION_CHARGE, ION_MASS, SALTS

CHECKS = (
    "salts.molar_mass",
    "salts.ion_increase",
    "salts.gypsum_solubility",
    "salts.metabisulfite_dose",
)

# Formula in the notation of each library, and the ions one formula unit gives.
FORMULAS = {
    "gypsum": ("CaSO4(H2O)2", "CaSO4..2H2O", {"calcium": 1, "sulfate": 1}),
    "calcium_sulfate_anhydrous": ("CaSO4", "CaSO4", {"calcium": 1, "sulfate": 1}),
    "calcium_chloride_dihydrate": ("CaCl2(H2O)2", "CaCl2..2H2O", {"calcium": 1, "chloride": 2}),
    "calcium_chloride_anhydrous": ("CaCl2", "CaCl2", {"calcium": 1, "chloride": 2}),
    "calcium_chloride_hexahydrate": ("CaCl2(H2O)6", "CaCl2..6H2O", {"calcium": 1, "chloride": 2}),
    "epsom_salt": ("MgSO4(H2O)7", "MgSO4..7H2O", {"magnesium": 1, "sulfate": 1}),
    "magnesium_chloride_hexahydrate": (
        "MgCl2(H2O)6",
        "MgCl2..6H2O",
        {"magnesium": 1, "chloride": 2},
    ),
    "table_salt": ("NaCl", "NaCl", {"sodium": 1, "chloride": 1}),
    "potassium_chloride": ("KCl", "KCl", {"potassium": 1, "chloride": 1}),
    "sodium_sulfate": ("Na2SO4", "Na2SO4", {"sodium": 2, "sulfate": 1}),
    "baking_soda": ("NaHCO3", "NaHCO3", {"sodium": 1, "bicarbonate": 1}),
    # Chalk and lime take up hydrogen ion; their alkalinity counts as bicarbonate.
    "chalk": ("CaCO3", "CaCO3", {"calcium": 1, "bicarbonate": 2}),
    "slaked_lime": ("Ca(OH)2", "Ca(OH)2", {"calcium": 1, "bicarbonate": 2}),
    "potassium_metabisulfite": ("K2S2O5", "K2S2O5", {"potassium": 2, "sulfate": 2}),
    "sodium_metabisulfite": ("Na2S2O5", "Na2S2O5", {"sodium": 2, "sulfate": 2}),
}
IONS = {
    "calcium": "Ca",
    "magnesium": "Mg",
    "sodium": "Na",
    "potassium": "K",
    "chloride": "Cl",
    "sulfate": "SO4",
    "bicarbonate": "HCO3",
}


@cache
def engine() -> Any:
    return pytest.importorskip("phreeqpython").PhreeqPython()


@pytest.mark.parametrize("salt", SALTS)
def test_molar_mass_by_chempy(salt: str) -> None:
    chempy = pytest.importorskip("chempy")
    assert SALTS[salt].molar_mass == pytest.approx(
        chempy.Substance.from_formula(FORMULAS[salt][1]).mass, abs=0.003
    )


@pytest.mark.parametrize(
    ("salt", "ion"), [(salt, ion) for salt in SALTS for ion in FORMULAS[salt][2]]
)
def test_ions_of_a_gram_by_molmass(salt: str, ion: str) -> None:
    molmass = pytest.importorskip("molmass")
    whole, _, counts = FORMULAS[salt]
    share = counts[ion] * molmass.Formula(IONS[ion]).mass / molmass.Formula(whole).mass
    # The two tables of weights differ by 0.015 % in sulfur and 0.008 % in chlorine.
    found = salts.ion_increase(salt, 1.0, 1.0)[ion]
    if SALTS[salt].alkalinity < 0.0 and ion == "bicarbonate":
        share = -share
    assert found == pytest.approx(1000.0 * share, rel=2.5e-4)


@pytest.mark.parametrize("salt", SALTS)
def test_a_salt_carries_no_net_charge(salt: str) -> None:
    """Cations less anions less alkalinity is nothing: the alkalinity is what the ions leave."""
    kind = SALTS[salt]
    charge = sum(
        mg / ION_MASS[ion] * ION_CHARGE[ion]
        for ion, mg in kind.ions.items()
        if ion != "bicarbonate"
    )
    assert charge - kind.alkalinity == pytest.approx(0.0, abs=1e-9)


# Grams in 1 kg of water. The molar masses that turn grams into moles are chempy's, not ours.
MIXTURES = {
    "three for a pale ale": {
        "gypsum": 0.4,
        "calcium_chloride_dihydrate": 0.2,
        "epsom_salt": 0.1,
        "table_salt": 0.05,
    },
    "with baking soda": {
        "gypsum": 0.8,
        "calcium_chloride_dihydrate": 0.4,
        "baking_soda": 0.1,
    },
    "chlorides": {
        "magnesium_chloride_hexahydrate": 0.3,
        "potassium_chloride": 0.05,
        "calcium_chloride_hexahydrate": 0.4,
    },
}
PHREEQC_FORMULAS = {
    "gypsum": "CaSO4",
    "calcium_chloride_dihydrate": "CaCl2",
    "calcium_chloride_hexahydrate": "CaCl2",
    "epsom_salt": "MgSO4",
    "table_salt": "NaCl",
    "baking_soda": "NaHCO3",
    "magnesium_chloride_hexahydrate": "MgCl2",
    "potassium_chloride": "KCl",
}
ELEMENTS = {
    "calcium": ("Ca", "Ca"),
    "magnesium": ("Mg", "Mg"),
    "sodium": ("Na", "Na"),
    "potassium": ("K", "K"),
    "chloride": ("Cl", "Cl"),
    "sulfate": ("S", "SO4"),
}


@pytest.mark.parametrize(
    ("mixture", "ion"),
    [
        (name, ion)
        for name, doses in MIXTURES.items()
        for ion in ELEMENTS
        if any(ion in SALTS[salt].ions for salt in doses)
    ],
)
def test_mixed_salts_by_phreeqc(mixture: str, ion: str) -> None:
    chempy = pytest.importorskip("chempy")
    solution = engine().add_solution({"temp": 20})
    for salt, grams in MIXTURES[mixture].items():
        mass = chempy.Substance.from_formula(FORMULAS[salt][1]).mass
        solution.add(PHREEQC_FORMULAS[salt], 1000.0 * grams / mass, "mmol")
    element, formula = ELEMENTS[ion]
    mmol = solution.total_element(element, units="mmol")
    solution.forget()
    ours = sum(
        salts.ion_increase(salt, grams, 1.0).get(ion, 0.0)
        for salt, grams in MIXTURES[mixture].items()
    )
    assert ours == pytest.approx(
        mmol * chempy.Substance.from_formula(formula).mass, rel=1e-3, abs=0.01
    )


@pytest.mark.parametrize("temperature", [5.0, 10.0, 20.0, 25.0, 40.0, 60.0, 66.0])
def test_gypsum_solubility_by_phreeqc(temperature: float) -> None:
    solution = engine().add_solution({"temp": temperature})
    solution.equalize(["Gypsum"], [0])
    grams = solution.total_element("Ca", units="mmol") * 172.164 / 1000.0
    solution.forget()
    # Measurements themselves differ by 0.15 g/L (Lebedev and Kosorukov 2017).
    assert salts.gypsum_solubility(temperature) == pytest.approx(grams, abs=0.15)


@pytest.mark.parametrize("salt", ["potassium_metabisulfite", "sodium_metabisulfite"])
def test_metabisulfite_dose_by_balanced_reactions(salt: str) -> None:
    chempy = pytest.importorskip("chempy")
    reactants, products = chempy.balance_stoichiometry({"HSO3-", "HOCl"}, {"SO4-2", "Cl-", "H+"})
    metal = "K" if salt.startswith("potassium") else "Na"
    whole = f"{metal}2S2O5"
    _, made = chempy.balance_stoichiometry({whole, "H2O"}, {f"{metal}+", "HSO3-"})
    per_chlorine = reactants["HSO3-"] / reactants["HOCl"] / made["HSO3-"]
    mass = chempy.Substance.from_formula(whole).mass * per_chlorine
    chlorine = chempy.Substance.from_formula("Cl2").mass
    assert salts.metabisulfite_dose(2.0, 50.0, salt) == pytest.approx(
        0.1 * mass / chlorine, rel=5e-4
    )
    assert products["H+"] == 2
