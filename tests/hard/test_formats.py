"""Records of every format there has been are read; what a later one says is not guessed.

``old/`` holds an archive for each format. Its files are never changed: a printed sheet bears the
plan hash, and the record must still answer to it.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml

from reportgen.archive.issued import as_issued
from reportgen.assessment import issued_numbers
from reportgen.assessment.assess import assess
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.checks.base import run_checks
from reportgen.loading import load_archive
from reportgen.record.bind import FORMAT
from reportgen.report.documents import HTML, RECORD

OLD = Path(__file__).parent / "old"
FILES = ("brewery.yaml", "stock.yaml", "2026/2026-01.yaml")


UNITS = {
    "kg": (1, "mass"), "g": (0.001, "mass"), "L": (1, "volume"), "mL": (0.001, "volume"),
    "C": (1, "temperature"), "min": (1, "time"), "d": (1440, "time"), "%": (0.01, "fraction"),
    "vol": (1, "carbonation"),
}  # fmt: skip
"""Of the plans in ``old/``: what a unit is in the base unit of its kind."""


def in_base_units(part: Any) -> Any:
    """Return a part of a plan with its values in base units; a bare number is a gravity."""
    if isinstance(part, dict):
        return {key: in_base_units(value) for key, value in part.items()}
    if isinstance(part, list):
        return [in_base_units(value) for value in part]
    number, _, unit = part.partition(" ")
    if unit in UNITS:
        factor, kind = UNITS[unit]
        return f"{float(number) * factor:.9g} {kind}"
    return f"{float(part):.9g} SG" if re.fullmatch(r"[0-9.]+", part) else part


def test_there_is_an_archive_for_every_format_so_far() -> None:
    wanted = {f"format-{number}" for number in range(1, int(FORMAT) + 1)}
    assert {folder.name for folder in OLD.iterdir()} == wanted


@pytest.mark.parametrize("folder", sorted(OLD.iterdir()), ids=lambda folder: folder.name)
def test_an_old_archive_is_read_in_full(folder: Path) -> None:
    archive = load_archive(folder)
    assert archive.findings == ()
    batch = archive.batches["2026-01"]
    assert batch.record is not None and batch.record.issued is not None
    tree = yaml.load((folder / batch.file).read_text(encoding="utf-8"), yaml.BaseLoader)
    # The hash by its definition, values in base units, from YAML and JSON libraries alone.
    plan = in_base_units(tree["plan"])
    words = json.dumps(plan, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    assert batch.plan_hash == hashlib.sha256(words.encode()).hexdigest()[:8]
    assert batch.plan_hash == batch.record.issued.plan
    assessment = assess(archive, batch)
    assert assessment is not None and assessment.problems == ()
    assert assessment.result("original_gravity").actual is not None


@pytest.mark.parametrize("science", ["as now", "a later one"])
@pytest.mark.parametrize("folder", sorted(OLD.iterdir()), ids=lambda folder: folder.name)
def test_an_old_record_says_whether_its_numbers_can_be_had_again(
    folder: Path, science: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A later version may compute better. The record is read in full, the finding says what the
    sheet had, and the archived PDF stays the document of that version."""
    if science != "as now":
        monkeypatch.setattr(issued_numbers, "SCIENCE", science)
    archive = load_archive(folder)
    batch = as_issued(archive, archive.batches["2026-02"])
    assert batch is not None and batch.record.issued is not None
    assert batch.batch.plan_hash == batch.record.issued.plan
    issued, now = str(batch.record.issued.numbers), numbers_hash(batch)
    found = [f for f in run_checks(batch) if f.rule == "numbers-changed-since-issued"]
    page = RECORD.make(batch, "A4", 1, HTML).decode()
    if issued == now:
        assert found == [] and f"numbers {issued}, as on the sheet" in page
        return
    assert [f.line.strip().startswith("issued:") for f in found] == [True]
    assert issued in found[0].message and now in found[0].message
    assert batch.house_then is not None and batch.house_then.why_not in found[0].message
    assert "cannot be had again" in page
    assert batch.result("original_gravity").verdict is not None


@pytest.mark.parametrize("name", FILES)
def test_a_later_format_is_refused_with_the_way_out(name: str, tmp_path: Path) -> None:
    root = tmp_path / "archive"
    shutil.copytree(OLD / "format-1", root)
    text = (root / name).read_text(encoding="utf-8")
    later = text.replace("format: 1", f"format: {int(FORMAT) + 1}") + "\nsomething_new: 1\n"
    (root / name).write_text(later, encoding="utf-8")
    (finding,) = load_archive(root).findings
    assert (finding.rule, finding.position.file) == ("format", name)
    assert finding.position.line == 2 and finding.position.column == 9
    assert "later reportgen" in finding.remedy and f"format: {FORMAT}" in finding.remedy


def test_every_file_of_the_demo_says_its_format() -> None:
    demo = Path(__file__).parents[2] / "batches"
    files = [p for p in demo.rglob("*.yaml") if "build" not in p.relative_to(demo).parts]
    assert len(files) > 10
    for path in files:
        assert "\nformat: 1\n" in f"\n{path.read_text(encoding='utf-8')}", path.name
