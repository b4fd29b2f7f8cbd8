"""A plan that starts from another: what it adds, replaces, and takes away."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

from reportgen.loading import load_archive
from reportgen.record.finding import Finding
from reportgen.record.load import Archive

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "example"
SCHEMA = json.loads((ROOT / "schema" / "record.json").read_text(encoding="utf-8"))


def second(tmp_path: Path, plan: str) -> tuple[Archive, dict[str, object]]:
    """Return the example with a second batch like its first, and that record as YAML has it."""
    root = tmp_path / "a"
    shutil.copytree(EXAMPLE, root)
    text = f"format: 1\nbatch: 2026-02\nname: Second\nplan:\n  like: 2026-01\n{plan}"
    (root / "2026" / "2026-02.yaml").write_text(text, encoding="utf-8")
    return load_archive(root), yaml.safe_load(text)


def plan_of(archive: Archive) -> object:
    assert archive.findings == ()
    record = archive.batches["2026-02"].record
    assert record is not None
    return record.plan


def findings(archive: Archive) -> list[Finding]:
    return [f for f in archive.findings if f.position.file == "2026/2026-02.yaml"]


@pytest.mark.parametrize("null", ["null", "~"])
def test_null_takes_away_what_the_other_plan_has(tmp_path: Path, null: str) -> None:
    first = load_archive(EXAMPLE).batches["2026-01"].record
    assert first is not None and first.plan.boil.finings and first.plan.run_off.cut_off_gravity
    text = f"  boil: {{finings: {null}}}\n  run_off: {{cut_off_gravity: {null}}}\n"
    archive, written = second(tmp_path, text)
    record = archive.batches["2026-02"].record
    assert archive.findings == () and record is not None
    assert record.plan.boil.finings == () and record.plan.boil.hops == first.plan.boil.hops
    assert record.plan.run_off.cut_off_gravity is None
    assert record.plan.run_off.sparge == "continuous"


def test_the_hash_of_the_plan_is_that_of_one_written_without_the_key(tmp_path: Path) -> None:
    archive, _ = second(tmp_path, "  boil: {finings: null}\n")
    plan = archive.batches["2026-02"].plan
    assert isinstance(plan["boil"], dict) and "finings" not in plan["boil"]
    assert archive.batches["2026-02"].plan_hash != archive.batches["2026-01"].plan_hash


def test_null_where_the_other_has_nothing_does_nothing(tmp_path: Path) -> None:
    archive, _ = second(tmp_path, "  aims: {colour: null}\n  methods: null\n")
    plan_of(archive)


def test_a_plan_after_that_one_is_without_the_key_too(tmp_path: Path) -> None:
    archive, _ = second(tmp_path, "  boil: {finings: null}\n")
    root = archive.root
    (root / "2026" / "2026-03.yaml").write_text(
        "format: 1\nbatch: 2026-03\nname: Third\nplan: {like: 2026-02, fermenter_volume: 38 L}\n",
        encoding="utf-8",
    )
    record = load_archive(root).batches["2026-03"].record
    assert record is not None and record.plan.boil.finings == ()


def test_a_key_that_must_be_there_cannot_be_taken_away(tmp_path: Path) -> None:
    archive, _ = second(tmp_path, "  boil: {time: null}\n")
    assert [(f.rule, "boil: time" in f.message) for f in findings(archive)] == [
        ("missing-key", True)
    ]


def test_a_key_with_nothing_after_it_is_still_a_mistake(tmp_path: Path) -> None:
    """Half a line is no decision."""
    archive, _ = second(tmp_path, "  boil:\n    finings:\n")
    assert [f.rule for f in findings(archive)] == ["empty"]


def test_null_in_a_whole_plan_is_a_mistake(tmp_path: Path) -> None:
    root = tmp_path / "a"
    shutil.copytree(EXAMPLE, root)
    path = root / "2026" / "2026-01.yaml"
    text = path.read_text(encoding="utf-8").replace(
        "cut_off_gravity: 1.006", "cut_off_gravity: null"
    )
    path.write_text(text, encoding="utf-8")
    assert [f.rule for f in load_archive(root).findings] == ["quantity"]


def test_an_editor_that_goes_by_the_schema_allows_it(tmp_path: Path) -> None:
    """The schema as it stands in the file, by a library that knows nothing of our keywords."""
    _, written = second(tmp_path, "  boil: {finings: null, hop_stand: null}\n  notes: null\n")
    written["batch"] = str(written["batch"])
    assert list(Draft202012Validator(SCHEMA).iter_errors(written)) == []
    _, wrong = second(tmp_path / "b", "  boil: {time: null}\n")
    assert list(Draft202012Validator(SCHEMA).iter_errors(wrong))
