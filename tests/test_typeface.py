"""Characters that cannot be printed are named where they were typed; no others are."""

from __future__ import annotations

import io
import shutil
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from reportgen.assessment.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Finding, render_text
from reportgen.report.fonts import printable
from reportgen.typeface import FILES, NEVER_DRAWN, SURE, characters, lacking, packaged

EXAMPLE = Path(__file__).parent / "example"
BATCH = "2026-01"


def test_the_table_is_that_of_the_fonts() -> None:
    sets = [set(TTFont(io.BytesIO(packaged(style))).getBestCmap()) for style in FILES]
    assert characters() == set.intersection(*sets)


def test_what_is_taken_as_sure_is_in_the_typeface() -> None:
    assert characters() >= SURE - NEVER_DRAWN


READ = [
    "Plain", "Crème brûlée", "Øl på fad", "Żywe piwo ćma", "Světlý ležák", "Φθινοπωρινή μπύρα",
    "Зимнее тёмное", "Ґрунтове пиво", "20 °C − 3.5 % → “ok” … №",
]  # fmt: skip
NOT_READ = {
    "CJK": ("水车", "U+6C34"), "kana": ("ビール", "U+30D3"), "hangul": ("맥주", "U+B9E5"),
    "Hebrew": ("בירה", "U+05D1"), "Arabic": ("بيرة", "U+0628"), "Thai": ("เบียร์", "U+0E40"),
    "Devanagari": ("बियर", "U+092C"), "emoji": ("Mild 🍺", "U+1F37A (beer mug)"),
}  # fmt: skip


@pytest.mark.parametrize("text", READ)
def test_latin_greek_and_cyrillic_are_printed(text: str) -> None:
    assert lacking(text) == () and printable(text) == text


@pytest.mark.parametrize("script", NOT_READ)
def test_another_script_is_printed_as_codes(script: str) -> None:
    text, code = NOT_READ[script]
    assert lacking(text)
    assert f"[{code.split(' ')[0]}]" in printable(text)


def said(folder: Path, edits: dict[str, tuple[str, str]]) -> list[Finding]:
    shutil.copytree(EXAMPLE, folder)
    for file, (old, new) in edits.items():
        text = (folder / file).read_text(encoding="utf-8")
        assert old in text
        (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")
    archive = load_archive(folder, names())
    assert archive.findings == ()
    found = assess(archive, archive.batches[BATCH])
    assert found is not None
    return [f for f in run_checks(found) if f.rule == "not-printable"]


def name_in(file: Path) -> str:
    return next(x for x in file.read_text(encoding="utf-8").splitlines() if x.startswith("name:"))


@pytest.mark.parametrize("script", NOT_READ)
def test_it_is_said_where_it_was_typed(tmp_path: Path, script: str) -> None:
    text, code = NOT_READ[script]
    record = f"2026/{BATCH}.yaml"
    old = name_in(EXAMPLE / record)
    (one,) = said(tmp_path / "a", {record: (old, f"name: {text}")})
    assert code in one.message and one.position.file == record
    assert "name:" in one.line
    assert code.split(" ")[0] in render_text(one)


@pytest.mark.parametrize("text", READ)
def test_nothing_is_said_of_what_is_printed(tmp_path: Path, text: str) -> None:
    record = f"2026/{BATCH}.yaml"
    old = name_in(EXAMPLE / record)
    assert said(tmp_path / "a", {record: (old, f"name: '{text}'")}) == []


def test_names_of_the_brewery_and_of_what_is_used_are_looked_at(tmp_path: Path) -> None:
    house = name_in(EXAMPLE / "brewery.yaml")
    found = said(tmp_path / "a", {
        "brewery.yaml": (house, "name: 水车"),
        "stock.yaml": ("name: Pale ale malt", "name: 麦芽"),
    })  # fmt: skip
    assert {f.position.file for f in found} == {"brewery.yaml", "stock.yaml"}
