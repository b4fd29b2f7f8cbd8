"""A tasting scores the words of the published terminology, whole, and those of the brewery."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import run_checks
from reportgen.loading import load_archive
from reportgen.record.model.flavours import CLASSES, NEAREST, TERMS
from reportgen.report.tasting import tasting_sheet

EXAMPLE = Path(__file__).parents[1] / "example"


def tasted(folder: Path, scores: str, house: str = "") -> Assessment:
    shutil.copytree(EXAMPLE, folder)
    record, brewery = folder / "2026" / "2026-01.yaml", folder / "brewery.yaml"
    day = "\nbrew_day: {date: 2026-03-14}\ntasting: [{date: 2026-04-10, scores: %s}]\n"
    record.write_text(record.read_text(encoding="utf-8") + day % scores, encoding="utf-8")
    brewery.write_text(brewery.read_text(encoding="utf-8") + house, encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def unknown(found: Assessment) -> list[tuple[str, str]]:
    return [(f.message, f.remedy) for f in run_checks(found) if f.rule == "unknown-attribute"]


def test_the_first_tier_is_whole() -> None:
    """Meilgaard, Dalgliesh and Clapperton 1979, abstract: 44 terms; the wheel has 14 classes."""
    assert len(TERMS) == len(set(TERMS)) == 44
    assert len(CLASSES) == 14
    assert {"acetaldehyde", "cooked_vegetable", "salty", "sulphitic", "sulphidic"} <= set(TERMS)
    assert set(NEAREST.values()) <= set(TERMS) and not set(NEAREST) & set(TERMS)


def test_no_place_on_the_tongue_is_named() -> None:
    """Every part of the tongue tastes everything: a hint names something to compare with."""
    hints = " ".join(hint for _, terms in CLASSES for hint in terms.values())
    assert not re.search(r"\b(tip|back|side|front|tongue)\b", hints)


def test_each_term_and_own_word_is_on_the_sheet_once(tmp_path: Path) -> None:
    found = tasted(tmp_path / "a", "{malty: 4}", "\nflavours: {mineral: wet stone, sour: cherry}\n")
    named = [
        attribute.name for column in tasting_sheet(found, "A4").columns for attribute in column
    ]
    assert named == [*(term.replace("_", " ") for term in TERMS), "mineral"]


def test_a_word_of_the_brewery_is_scored_and_any_other_is_not(tmp_path: Path) -> None:
    own = "\nflavours: {mineral: wet stone}\n"
    assert unknown(tasted(tmp_path / "a", "{mineral: 2, salty: 1}", own)) == []
    assert [said for said, _ in unknown(tasted(tmp_path / "b", "{mineral: 2}"))] == [
        "`mineral` is not an attribute"
    ]


def test_a_common_word_is_led_to_its_term(tmp_path: Path) -> None:
    found = dict(unknown(tasted(tmp_path / "a", "{roasted: 4, DMS: 2, maltyy: 3}")))
    assert "`burnt`" in found["`roasted` is not an attribute"]
    assert "`cooked_vegetable`" in found["`DMS` is not an attribute"]
    assert "malty" in found["`maltyy` is not an attribute"]


def test_a_word_of_two_is_one_finding_and_led_to_what_it_reminds_of(tmp_path: Path) -> None:
    scores = "{cooked vegetable: 2, green apple: 1, Green_Apple: 1, coffee: 3}"
    found = unknown(tasted(tmp_path / "a", scores))
    assert len(found) == 4
    terms = ("cooked_vegetable", "acetaldehyde", "acetaldehyde", "burnt")
    assert all(f"`{term}`" in remedy for term, (_, remedy) in zip(terms, found, strict=True))
