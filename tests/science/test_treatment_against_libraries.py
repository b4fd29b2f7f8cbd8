"""Liquor treatment held against the PHREEQC engine and a search by scipy over the whole grid."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from reportgen.science import treatment
from reportgen.science.mash_ph import MaltAcidity
from reportgen.science.treatment import treat, treated_liquor

CHECKS = ("treatment.treated_liquor", "treatment.treat")

TAP = {
    "calcium": 40.0,
    "magnesium": 5.0,
    "sodium": 12.0,
    "chloride": 25.0,
    "sulfate": 30.0,
    "bicarbonate": 90.0,
}
MALTS = [MaltAcidity(4.0, 5.70, 40.0), MaltAcidity(0.4, 4.90, 35.0)]
FORMULAS = {
    "gypsum": ("CaSO4", "CaSO4..2H2O"),
    "calcium_chloride_dihydrate": ("CaCl2", "CaCl2..2H2O"),
    "epsom_salt": ("MgSO4", "MgSO4..7H2O"),
    "table_salt": ("NaCl", "NaCl"),
    "baking_soda": ("NaHCO3", "NaHCO3"),
}
ELEMENTS = {
    "calcium": ("Ca", "Ca+2"),
    "magnesium": ("Mg", "Mg+2"),
    "sodium": ("Na", "Na+"),
    "chloride": ("Cl", "Cl-"),
    "sulfate": ("S", "SO4-2"),
}


@cache
def engine() -> Any:
    return pytest.importorskip("phreeqpython").PhreeqPython()


def dosed(volume: float, doses: dict[str, float]) -> Any:
    """One litre of the tap water of ``volume`` with its share of the salts, by PHREEQC."""
    chempy = pytest.importorskip("chempy")
    solution = engine().add_solution(
        {
            "units": "mg/kgw",
            "pH": 7.6,
            "temp": 20,
            "Ca": 40,
            "Mg": 5,
            "Na": 12,
            "Cl": 25,
            "S(6)": "30 as SO4",
            "Alkalinity": "90 as HCO3",
        }
    )
    for salt, grams in doses.items():
        formula, whole = FORMULAS[salt]
        mass = chempy.Substance.from_formula(whole).mass
        solution.add(formula, 1000 * grams / mass / volume, "mmol")
    return solution


def milligrams(solution: Any, ion: str) -> float:
    element, symbol = ELEMENTS[ion]
    mass = pytest.importorskip("chempy").Substance.from_formula(symbol).mass
    return float(solution.total_element(element, units="mmol") * mass)


DOSES = {"gypsum": 5.0, "calcium_chloride_dihydrate": 3.0, "table_salt": 0.6, "epsom_salt": 1.0}


@pytest.mark.parametrize("ion", ELEMENTS)
def test_salted_mash_liquor(ion: str) -> None:
    ours = treated_liquor(TAP, 15.0, 15.0, DOSES).mash[ion]
    solution = dosed(15.0, DOSES)
    assert ours == pytest.approx(milligrams(solution, ion), rel=2e-3)
    solution.forget()


@pytest.mark.parametrize("ion", ELEMENTS)
def test_untreated_sparge_thins_the_mash_liquor(ion: str) -> None:
    """Two of sparge to one of mash leave a third of the salts' strength."""
    ours = treated_liquor(TAP, 10.0, 20.0, DOSES).total[ion]
    mixed = dosed(10.0, DOSES) * (1 / 3) + dosed(20.0, {}) * (2 / 3)
    assert ours == pytest.approx(milligrams(mixed, ion), rel=2e-3)


def test_acid_takes_alkalinity_and_leaves_its_anion() -> None:
    ours = treated_liquor(TAP, 10.0, 0.0, mash_acids={"hydrochloric": 10.0})
    solution = dosed(10.0, {})
    solution.add("HCl", 1.0, "mmol")
    assert ours.mash["chloride"] == pytest.approx(milligrams(solution, "chloride"), rel=2e-3)
    # Back to the pH of a pure bicarbonate end point takes what alkalinity is left.
    kept = 1000 * (solution.species["HCO3-"] + solution.species.get("CaHCO3+", 0.0))
    assert ours.mash["alkalinity"] == pytest.approx(kept, abs=0.02)
    solution.forget()


WISHES: list[tuple[dict[str, float], tuple[str, ...], str]] = [
    (
        {"calcium": 110, "sulfate": 130, "chloride": 75},
        ("gypsum", "calcium_chloride_dihydrate"),
        "both",
    ),
    (
        {"calcium": 90, "sulfate": 60, "chloride": 110},
        ("gypsum", "calcium_chloride_dihydrate"),
        "mash",
    ),
    ({"magnesium": 15, "sulfate": 150}, ("gypsum", "epsom_salt"), "both"),
    (
        {"sodium": 40, "chloride": 90, "calcium": 60},
        ("table_salt", "calcium_chloride_dihydrate"),
        "mash",
    ),
]


@pytest.mark.parametrize(("wanted", "salts", "where"), WISHES)
def test_no_other_weighing_comes_much_nearer(
    wanted: dict[str, float], salts: tuple[str, ...], where: str
) -> None:
    """Every pair of weights on a half-gram scale, searched by scipy, with the tolerances written
    out afresh and the ions by PHREEQC."""
    from scipy.optimize import brute

    mash, sparge = 20.0, 20.0
    dosed_volume = mash + sparge if where == "both" else mash
    plain = {ion: milligrams(dosed(1.0, {}), ion) for ion in ELEMENTS}
    gram = {
        salt: {ion: milligrams(dosed(1.0, {salt: 1.0}), ion) - plain[ion] for ion in ELEMENTS}
        for salt in salts
    }

    def score(weights: Any) -> float:
        total = 0.0
        for ion in ELEMENTS:
            reached = plain[ion] + sum(
                gram[salt][ion] * w / dosed_volume for salt, w in zip(salts, weights, strict=True)
            )
            if ion in wanted:
                total += ((reached - wanted[ion]) / max(5.0, 0.1 * wanted[ion])) ** 2
            else:
                total += ((reached - plain[ion]) / 100.0) ** 2
        return total

    _, least, _, _ = brute(
        score, (slice(0, 15.1, 0.5), slice(0, 15.1, 0.5)), full_output=True, finish=None
    )
    found = treat(TAP, mash, sparge, wanted, salts, where, scale=0.5)
    ours = score([found.doses.get(salt, 0.0) for salt in salts])
    assert ours <= 1.1 * least + 0.15


@pytest.mark.parametrize("acid", ["hydrochloric", "sulfuric"])
def test_mash_ph_and_ions_together_by_phreeqc(acid: str) -> None:
    """The acid asked for, with the malts' hydrogen ions, brings PHREEQC's liquor to the target.

    Calcium's effect is malt phosphate, which PHREEQC is not told of: it is added as the acid that
    the divisors 3.5 and 7 make of it.
    """
    found = treat(
        TAP,
        15.0,
        15.0,
        {"calcium": 80, "chloride": 80},
        where="mash",
        acid=acid,
        acid_fraction=0.10,
        target_ph=5.45,
        malts=MALTS,
    )
    assert found.mash_ph == pytest.approx(5.45, abs=0.01)
    formula, hydrogen = {"hydrochloric": ("HCl", 1), "sulfuric": ("H2SO4", 2)}[acid]
    solution = dosed(15.0, dict(found.mash_doses))
    solution.add(formula, found.mash_acid_mmol / 15.0, "mmol")
    # At the pH that the measured millilitres give, not the target: bare water is a weak buffer.
    ph = found.mash_ph or 0.0
    given = sum(m.mass * m.buffering * (ph - m.distilled_water_mash_ph) for m in MALTS) / 15.0
    phosphate = milligrams(solution, "calcium") / 20.039 / 3.5
    phosphate += milligrams(solution, "magnesium") / 12.1525 / 7.0
    assert hydrogen * found.mash_acid_mmol / 15.0 < 4.0
    given += phosphate
    solution.add("HCl" if given > 0 else "NaOH", abs(given), "mmol")
    assert float(solution.pH) == pytest.approx(ph, abs=0.025)
    solution.forget()


def test_usual_salts_are_all_known() -> None:
    assert set(treatment.USUAL_SALTS) <= set(FORMULAS)
