"""The record format: schema and model agree, and each common mistake gets one clear message."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from reportgen.loading import load_archive
from reportgen.record.describe import FILES, file_schema, render

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "example"


@pytest.fixture
def archive(tmp_path: Path) -> Path:
    copy = tmp_path / "archive"
    shutil.copytree(EXAMPLE, copy)
    return copy


def edit(root: Path, name: str, old: str, new: str) -> None:
    path = root / name
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} occurs {text.count(old)} times in {name}"
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.mark.parametrize("name", FILES)
def test_the_schema_file_is_what_the_model_says(name: str) -> None:
    written = (ROOT / "schema" / f"{name}.json").read_text(encoding="utf-8")
    assert written == render(FILES[name]), "run: python -m reportgen.record.describe"
    Draft202012Validator.check_schema(file_schema(FILES[name]))


def properties(schema: Any, where: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(schema, dict):
        for key, value in schema.get("properties", {}).items():
            yield f"{where}.{key}", value
        for key, value in schema.items():
            yield from properties(value, f"{where}/{key}")
    elif isinstance(schema, list):
        for number, value in enumerate(schema):
            yield from properties(value, f"{where}/{number}")


@pytest.mark.parametrize("name", FILES)
def test_every_property_has_title_description_and_examples(name: str) -> None:
    found = list(properties(file_schema(FILES[name])))
    assert len(found) > 40
    for where, schema in found:
        assert schema.get("title"), where
        assert schema.get("description", "").endswith("."), where
        assert schema.get("examples"), where


def test_the_example_archive_is_clean_and_whole() -> None:
    archive = load_archive(EXAMPLE)
    assert archive.findings == ()
    record = archive.batches["2026-01"].record
    assert record is not None
    assert record.plan.fermenter_volume.value == 40.0
    assert record.plan.grist[0].malt == "pale"
    assert record.plan.grist[0].malt.position is not None
    assert record.plan.grist[0].malt.position.line == 10


MISTAKES = [
    # (file, what to replace, with what, rule, text that the message must have, remedy)
    (
        "2026/2026-01.yaml", "  fermenter_volume: 40 L", "  fermenter_volumme: 40 L",
        "unknown-key", "`fermenter_volumme`", "fermenter_volume",
    ),
    ("2026/2026-01.yaml", "volume: 40 L", "volume: 40 kg", "quantity", "is a mass", ""),
    ("2026/2026-01.yaml", "volume: 40 L", "volume: 40 litters", "quantity", "litters", ""),
    ("2026/2026-01.yaml", "malt: pale,", "malt: palle,", "unknown-name", "`palle`", "pale"),
    ("2026/2026-01.yaml", "kit: main", "kit: mian", "unknown-name", "`mian`", "main"),
    ("2026/2026-01.yaml", "sparge: continuous", "sparge: continous", "word", "`continous`",
     "continuous"),
    (
        "2026/2026-01.yaml", "cut_off_gravity: 1.006", "cut_off_gravity: 1006", "quantity",
        "1006", "1.006",
    ),
    ("brewery.yaml", "analysed: 2026-01-10", "analysed: 2026-02-30", "date", "February", ""),
    ("brewery.yaml", "calcium: 20 mg/L", "calcium: 20,5 mg/L", "quantity", "comma", "20.5"),
    ("brewery.yaml", "heat_capacity: 6 kJ/K", "heat_capacity: 6 C", "quantity", "temperature", ""),
    ("stock.yaml", "malt_class: crystal", "malt_class: cristal", "word", "`cristal`", "crystal"),
    ("2026/2026-01.yaml", "batch: 2026-01", "batch: 2026-02", "file-name", "2026-02", "rename"),
    ("2026/2026-01.yaml", "name: Example Bitter", "name:", "empty", "`name`", "fill it in"),
    ("stock.yaml", "150 EBC, allergens: [barley]", "150 EBC, allergens: barley", "shape", "`all",
     "write [barley]"),
    ("stock.yaml", "lots: {M-1: {received: 2026-01-05}}", "lots: {M 1: {received: 2026-01-05}}",
     "form", "`M 1`", "write `M_1`"),
    ("stock.yaml", "lots: {M-1: {received: 2026-01-05}}", "lots: M-1", "shape", "`lots`", ""),
    ("2026/2026-01.yaml", "format: 1", "format: 2", "format", "`2`",
     "later reportgen"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "rule", "said", "remedy"), MISTAKES)
def test_one_mistake_gives_one_message_at_its_place(
    archive: Path, name: str, old: str, new: str, rule: str, said: str, remedy: str
) -> None:
    edit(archive, name, old, new)
    findings = load_archive(archive).findings
    assert [f.rule for f in findings] == [rule], findings
    finding = findings[0]
    line = (archive / name).read_text(encoding="utf-8").splitlines()[finding.position.line - 1]
    changed = new.split(": ")[-1].rstrip(",") if rule != "unknown-key" else "fermenter_volumme"
    assert finding.line == line and changed.strip(":") in line
    marked = line[finding.position.column - 1 : finding.position.end_column - 1]
    assert marked and marked in new
    assert said in finding.message
    assert remedy in finding.remedy
    assert finding.expected or finding.remedy


def test_all_mistakes_are_said_at_once(archive: Path) -> None:
    edit(archive, "2026/2026-01.yaml", "kit: main", "kit: mian")
    edit(archive, "2026/2026-01.yaml", "volume: 40 L", "volume: 40 kg")
    edit(
        archive,
        "2026/2026-01.yaml",
        "cool: {pitch_temperature: 18 C}",
        "cool: {pitch_temperature: 18 L}",
    )
    edit(archive, "stock.yaml", "malt_class: crystal", "malt_class: cristal")
    edit(archive, "brewery.yaml", "altitude: 100 m", "altitudes: 100 m")
    rules = sorted(f.rule for f in load_archive(archive).findings)
    assert rules == ["quantity", "quantity", "unknown-key", "unknown-name", "word"]


def test_a_plan_that_starts_from_another_states_only_what_differs(archive: Path) -> None:
    (archive / "2026" / "2026-02.yaml").write_text(
        "format: 1\nbatch: 2026-02\nname: Second\nplan:\n  like: 2026-01\n"
        "  fermenter_volume: 38 L\n"
        "  fermentation: {temperature: 17 C}\n  liquor: {mash_liquor: 21 L}\n",
        encoding="utf-8",
    )
    loaded = load_archive(archive)
    assert loaded.findings == ()
    first, second = loaded.batches["2026-01"], loaded.batches["2026-02"]
    assert second.record is not None and first.record is not None
    assert second.record.plan.fermenter_volume.value == 38.0
    assert second.record.plan.liquor.mash_liquor.value == 21.0
    assert second.record.plan.liquor.salts == first.record.plan.liquor.salts
    assert second.record.plan.grist == first.record.plan.grist
    assert second.record.plan.fermentation.temperature.value == 17.0
    assert second.record.plan.fermentation.highest_temperature.value == 20.0
    assert second.plan_hash != first.plan_hash


def test_what_neither_plan_has_is_missing(archive: Path) -> None:
    edit(archive, "2026/2026-01.yaml", "  cool: {pitch_temperature: 18 C}\n", "")
    (archive / "2026" / "2026-02.yaml").write_text(
        "format: 1\nbatch: 2026-02\nname: Second\nplan:\n  like: 2026-01\n", encoding="utf-8"
    )
    found = load_archive(archive).findings
    assert [(f.rule, f.position.file) for f in found] == [
        ("missing-key", "2026/2026-01.yaml"),
        ("missing-key", "2026/2026-02.yaml"),
    ]
    assert all("cool" in f.message for f in found)


def test_plans_in_a_circle_are_found(archive: Path) -> None:
    for one, other in (("2026-02", "2026-03"), ("2026-03", "2026-02")):
        (archive / "2026" / f"{one}.yaml").write_text(
            f"format: 1\nbatch: {one}\nname: Round\nplan:\n  like: {other}\n", encoding="utf-8"
        )
    rules = {f.rule for f in load_archive(archive).findings}
    assert "plan-circle" in rules


def test_the_plan_hash_follows_the_plan_and_nothing_else(archive: Path) -> None:
    before = load_archive(archive).batches["2026-01"].plan_hash
    edit(archive, "2026/2026-01.yaml", "name: Example Bitter", "name: Other Name")
    assert load_archive(archive).batches["2026-01"].plan_hash == before
    edit(archive, "2026/2026-01.yaml", "volume: 40 L", "volume: 40.0 litres")
    assert load_archive(archive).batches["2026-01"].plan_hash == before
    edit(archive, "2026/2026-01.yaml", "volume: 40.0 litres", "volume: 40.1 L")
    assert load_archive(archive).batches["2026-01"].plan_hash != before


def test_the_three_kinds_of_missing_value_stay_apart(archive: Path) -> None:
    path = archive / "2026" / "2026-01.yaml"
    path.write_text(
        path.read_text(encoding="utf-8")
        + "brew_day:\n  date: 2026-03-14\n  mash:\n    mash_ph: NOT RECORDED\n"
        "    first_wort_gravity: not done because the pump blocked\n    mash_temperature:\n",
        encoding="utf-8",
    )
    loaded = load_archive(archive)
    assert loaded.findings == ()
    record = loaded.batches["2026-01"].record
    assert record is not None
    mash = record.brew_day.mash
    assert mash.mash_ph.state.name == "NOT_RECORDED"
    assert mash.first_wort_gravity.state.name == "NOT_DONE"
    assert mash.first_wort_gravity.reason == "the pump blocked"
    assert mash.mash_temperature is None


def test_a_corrected_entry_keeps_the_old_value(archive: Path) -> None:
    path = archive / "2026" / "2026-01.yaml"
    path.write_text(
        path.read_text(encoding="utf-8")
        + "brew_day:\n  date: 2026-03-14\n  pitch:\n    original_gravity: {read: 1.038, was: 1.083,"
        " amended_by: AA, amended_on: 2026-03-15, because: figures swapped}\n",
        encoding="utf-8",
    )
    loaded = load_archive(archive)
    assert loaded.findings == ()
    record = loaded.batches["2026-01"].record
    assert record is not None
    reading = record.brew_day.pitch.original_gravity
    assert reading.value is not None and reading.was is not None
    assert (reading.value.text, reading.was.text) == ("1.038", "1.083")


def test_findings_never_raise_on_a_wrong_shape(archive: Path) -> None:
    for text in ("", "[]", "plan: 3", "- 1", "plan: {grist: 7}", "tasting: {a: b}", "42"):
        (archive / "2026" / "2026-01.yaml").write_text(text, encoding="utf-8")
        assert load_archive(archive).findings, text
