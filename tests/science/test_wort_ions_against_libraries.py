"""Ions of the wort: stoichiometry by molmass, balances by hand and by uncertainties."""

from __future__ import annotations

import pytest
from reference import Formula
from uncertainties import ufloat

from reportgen.science import wort_ions

CHECKS = ("wort_ions.wort_ions",)


def mass(formula: str) -> float:
    """Molar mass, g/mol."""
    return Formula(formula).mass


def test_what_liquor_salts_and_malt_bring_adds_up() -> None:
    gypsum = 1000 * 0.2 / mass("CaSO4(H2O)2")  # mmol/L of 0.2 g/L
    liquor = {"calcium": gypsum * mass("Ca"), "sulfate": gypsum * mass("SO4"), "nitrate": 4.0}
    found = wort_ions.wort_ions(liquor, [("pale", 9.0), ("crystal", 1.0), ("adjunct", 2.0)], 0.45)
    per = {ion: value for ion, (value, _) in wort_ions.MALT_IONS.items()}
    assert found["calcium"] == pytest.approx(0.45 * liquor["calcium"] + 10 * per["calcium"])
    assert found["sulfate"] == pytest.approx(liquor["sulfate"])
    assert found["sodium"] == pytest.approx(10 * per["sodium"])
    assert found["magnesium"] == pytest.approx(10 * per["magnesium"])
    assert found["nitrate"] == 4.0
    assert "calcium" in liquor and liquor["calcium"] > found["calcium"] - 30


def test_uncertainty_of_what_malt_brings() -> None:
    share = wort_ions.malt_ion_uncertainty("pale", "magnesium")
    found = wort_ions.wort_ions({}, [("pale", 12.0 * ufloat(1, share))])["magnesium"]
    assert 2 * found.std_dev == pytest.approx(24.0, abs=1.0)
    assert wort_ions.malt_ion_uncertainty("roasted", "magnesium") == 2 * share


def test_a_malt_cannot_bring_less_than_nothing() -> None:
    with pytest.raises(ValueError, match="below 0"):
        wort_ions.wort_ions({}, [("pale", -1.0)])
