"""What malt brings into the wort, as further figures beside those of liquor and salts."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked import archive_with

from reportgen.assessment.assess import assess
from reportgen.forecast.book import Forecast
from reportgen.forecast.figures import FIGURES, IONS, Stage
from reportgen.science.density import extract_from_gravity
from reportgen.science.number import expanded_uncertainty, nominal

SOFT = "brewery: {liquors: {reservoir: {calcium: %s mg/L, magnesium: %s mg/L}}}\n"
PLAIN = "plan: {liquor: {salts: []}, grist: [{malt: pale, amount: 8 kg}]}\n"


def book_of(folder: Path, patch: str) -> Forecast:
    archive = archive_with(patch, folder)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and found.problems == ()
    return found.planned


def test_wort_of_distilled_water_has_the_minerals_of_malt(tmp_path: Path) -> None:
    """A. Holzmann and A. Piendl 1977, J. Am. Soc. Brew. Chem. 35:1: 100 mg/L of magnesium and 35 of
    calcium in all-malt pale wort of 12 degP; 70 and 35 at 10 degP (Palmer and Kaminski 2013)."""
    book = book_of(tmp_path / "a", SOFT % (0, 0) + PLAIN)
    plato = extract_from_gravity(nominal(book["cast_out_gravity"]))
    for ion, published in (("magnesium", (7.0, 8.34)), ("calcium", (2.9, 3.5))):
        number = book[f"wort_{ion}"]
        u = expanded_uncertainty(number)
        for per_degree in published:
            assert abs(nominal(number) - per_degree * plato) <= u
        assert u > 0.2 * nominal(number)
        assert nominal(book[f"cast_out_{ion}_of_liquor"]) == pytest.approx(0, abs=1e-9)


def test_sodium_with_malts_lies_within_what_malt_holds(tmp_path: Path) -> None:
    """26 to 117 mg/kg of barley and malt (Montana State University, Malt Mineral Profile), all of
    it dissolved; 8 kg, with what the grain keeps of it left behind."""
    book = book_of(tmp_path / "a", SOFT % (0, 0) + PLAIN)
    more = book["wort_sodium"] - book["cast_out_sodium_of_liquor"]
    u = expanded_uncertainty(more)
    litres = nominal(book["cast_out_volume"])
    assert nominal(more) - u <= 8 * 26 / litres
    assert 8 * 84 / litres <= nominal(more) + u <= 1.3 * 8 * 117 / litres


def test_names_say_what_is_counted() -> None:
    """An ion of a wort is either of liquor and salts alone, and named so, or malt's are in it."""
    words = (*IONS, "potassium", "phosphate", "nitrate")
    after = [
        f for f in FIGURES.values()
        if any(ion in f.key for ion in words) and f.stage is not Stage.LIQUOR
    ]
    assert len(after) == 13
    for figure in after:
        assert figure.key.endswith("_of_liquor") == ("of liquor and salts" in figure.title)
        assert figure.key.endswith("_of_liquor") != ("with malt's" in figure.title), figure.key
    for figure in FIGURES.values():
        if figure.stage is Stage.LIQUOR and any(ion in figure.key for ion in words):
            assert "liquor" in figure.title


def test_half_of_the_liquors_calcium_stays_behind(tmp_path: Path) -> None:
    """50 to 60 % is lost with grains and trub: D.S. Taylor, Handbook of Brewing, 2nd ed., ch. 4."""
    hard = book_of(tmp_path / "a", SOFT % (100, 0) + PLAIN)
    soft = book_of(tmp_path / "b", SOFT % (0, 0) + PLAIN)
    more = nominal(hard["wort_calcium"]) - nominal(soft["wort_calcium"])
    assert 0.40 <= more / nominal(hard["cast_out_calcium_of_liquor"]) <= 0.50


def test_sugar_brings_none(tmp_path: Path) -> None:
    sugar = "plan: {sugars: [{sugar: white_sugar, amount: 2 kg, to: kettle}]}\n"
    with_ = book_of(tmp_path / "a", SOFT % (0, 0) + PLAIN.replace("plan: {", sugar[:-2] + ", "))
    without = book_of(tmp_path / "b", SOFT % (0, 0) + PLAIN)
    # As much malt in about as much wort: the same magnesium, though the wort is stronger.
    for key, share in (("wort_magnesium", 1.0), ("cast_out_gravity", 1.01)):
        assert nominal(with_[key]) >= 0.97 * share * nominal(without[key])
    assert nominal(with_["wort_magnesium"]) < 1.06 * nominal(without["wort_magnesium"])
