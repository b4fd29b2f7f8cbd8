"""Acids held against the PHREEQC engine and chempy."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from reference import brentq

from reportgen.science import acid

CHECKS = (
    "acid.ionised_equivalents",
    "acid.acid_density",
    "acid.acid_normality",
    "acid.liquor_ph_after_acid",
    "acid.acid_millilitres",
    "acid.acid_anion_increase",
)


@cache
def engine() -> Any:
    return pytest.importorskip("phreeqpython").PhreeqPython()


@pytest.mark.parametrize(
    ("key", "formula"),
    [
        ("lactic", "C3H6O3"),
        ("phosphoric", "H3PO4"),
        ("hydrochloric", "HCl"),
        ("sulfuric", "H2SO4"),
        ("citric", "C6H8O7"),
    ],
)
def test_molar_mass(key: str, formula: str) -> None:
    chempy = pytest.importorskip("chempy")
    mass = chempy.Substance.from_formula(formula).mass
    assert acid.ACIDS[key].molar_mass == pytest.approx(mass, abs=0.005)


@pytest.mark.parametrize("ph", [3.0, 4.3, 5.2, 5.4, 5.6, 5.8, 6.0, 7.0])
def test_phosphoric_acid_ionised(ph: float) -> None:
    solution = engine().add_solution(
        {"units": "mmol/kgw", "temp": 25, "pH": ph, "P": 0.01, "Na": 0.01}
    )
    species = solution.species
    steps = {"H3PO4": 0, "H2PO4-": 1, "HPO4-2": 2, "PO4-3": 3}
    total = sum(species.get(name, 0.0) for name in steps)
    given = sum(species.get(name, 0.0) * step for name, step in steps.items()) / total
    strength = solution.I
    solution.forget()
    assert acid.ionised_equivalents("phosphoric", ph, strength) == pytest.approx(given, abs=0.01)


@pytest.mark.parametrize("ph", [2.0, 5.6, 7.0, 7.5])
def test_phosphoric_acid_ionised_in_salt_water(ph: float) -> None:
    """At 0.05 mol/L the second step is a quarter of a unit easier."""
    solution = engine().add_solution(
        {"units": "mmol/kgw", "temp": 25, "pH": ph, "P": 0.01, "Na": 50, "Cl": 50}
    )
    # The engine pairs sodium with phosphate; a pair has given up what its phosphate has.
    steps = {"H3PO4": 0, "H2PO4-": 1, "NaH2PO4": 1, "HPO4-2": 2, "NaHPO4-": 2, "PO4-3": 3}
    species = solution.species
    total = sum(species.get(name, 0.0) for name in steps)
    given = sum(species.get(name, 0.0) * step for name, step in steps.items()) / total
    strength = solution.I
    solution.forget()
    assert acid.ionised_equivalents("phosphoric", ph, strength) == pytest.approx(given, abs=0.03)


@pytest.mark.parametrize("ph", [2.5, 3.5, 4.3, 5.4])
def test_sulfuric_acid_ionised(ph: float) -> None:
    solution = engine().add_solution(
        {"units": "mmol/kgw", "temp": 25, "pH": ph, "S(6)": 0.01, "Na": 0.02}
    )
    single, double = solution.species["HSO4-"], solution.species["SO4-2"]
    given = (single + 2 * double) / (single + double)
    strength = solution.I
    solution.forget()
    assert acid.ionised_equivalents("sulfuric", ph, strength) == pytest.approx(given, abs=0.01)


@pytest.mark.parametrize("fraction", [0.10, 0.15, 0.25, 0.35, 0.45, 0.55, 0.65, 0.75, 0.90])
def test_sulfuric_acid_density_by_myhre(fraction: float) -> None:
    myhre = pytest.importorskip("chempy.properties.sulfuric_acid_density_myhre_1998")
    density = float(myhre.sulfuric_acid_density(fraction, 293.15)) / 1000.0
    # C.E.L. Myhre et al. 1998 fit to 0.3 %.
    assert acid.acid_density("sulfuric", fraction) == pytest.approx(density, rel=0.003)


@pytest.mark.parametrize("alkalinity", [0.5, 1.0, 3.0, 6.0])
@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.9, 1.0, 1.1])
@pytest.mark.parametrize(("key", "formula"), [("hydrochloric", "HCl"), ("phosphoric", "H3PO4")])
def test_ph_of_a_liquor_that_keeps_its_gas(
    alkalinity: float, share: float, key: str, formula: str
) -> None:
    """From a third of the alkalinity taken up to a tenth of the acid left over."""
    mmol = share * alkalinity
    solution = engine().add_solution(
        {"units": "mmol/kgw", "temp": 20, "pH": 7.7, "Alkalinity": alkalinity, "Ca": alkalinity / 2}
    )
    if mmol:
        solution.add(formula, mmol, "mmol")
    ph = float(solution.pH)
    solution.forget()
    ours = acid.liquor_ph_after_acid(alkalinity, 7.7, {key: mmol})
    # Calcium pairs with phosphate, the more the harder the liquor; the page states 0.1.
    assert ours == pytest.approx(ph, abs=0.01 if key == "hydrochloric" else 0.045)


@pytest.mark.parametrize(
    ("key", "formula", "element"), [("hydrochloric", "HCl", "Cl"), ("sulfuric", "H2SO4", "S")]
)
def test_anion_left_in_the_liquor(key: str, formula: str, element: str) -> None:
    chempy = pytest.importorskip("chempy")
    solution = engine().add_solution({"units": "mmol/kgw", "pH": 8, "Na": 3, "Alkalinity": 3})
    solution.add(formula, 1.25, "mmol")
    mmol = solution.total_element(element, units="mmol")
    ph = float(solution.pH)
    solution.forget()
    ion = "Cl-" if element == "Cl" else "SO4-2"
    equivalents = 1.25 * acid.ionised_equivalents(key, ph)
    assert acid.acid_anion_increase(key, equivalents, ph, 1.0) == pytest.approx(
        mmol * chempy.Substance.from_formula(ion).mass, rel=2e-3
    )


def ph_with(formula: str, mmol: float) -> float:
    """Return the pH of one water with so much of an acid in each litre, by PHREEQC."""
    solution = engine().add_solution(
        {"units": "mmol/kgw", "temp": 20, "pH": 7.6, "Alkalinity": 3.0, "Ca": 1.5}
    )
    solution.add(formula, mmol, "mmol")
    ph = float(solution.pH)
    solution.forget()
    return ph


@pytest.mark.parametrize(
    ("key", "formula", "fraction"),
    [("phosphoric", "H3PO4", 0.1), ("hydrochloric", "HCl", 0.2), ("sulfuric", "H2SO4", 0.1)],
)
def test_measured_millilitres_reach_the_ph(key: str, formula: str, fraction: float) -> None:
    """What the bottle pours into 20 L brings PHREEQC's water to the target."""
    strong = brentq(lambda mmol: ph_with("HCl", mmol) - 5.5, 1.0, 3.0, xtol=1e-4)
    poured = acid.acid_millilitres(20.0 * strong, key, fraction, 5.5)
    mmol = poured * acid.acid_normality(key, fraction)
    assert ph_with(formula, mmol / 20.0) == pytest.approx(5.5, abs=0.03)
