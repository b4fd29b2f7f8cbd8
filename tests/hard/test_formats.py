"""Records of every format there has been are read; what a later one says is not guessed.

``old/`` holds an archive for each format. Its files are never changed: a printed sheet bears the
plan hash, and the record must still answer to it.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from pathlib import Path

import pytest
import yaml

from reportgen.assessment.assess import assess
from reportgen.loading import load_archive
from reportgen.record.bind import FORMAT

OLD = Path(__file__).parent / "old"
FILES = ("brewery.yaml", "stock.yaml", "2026/2026-01.yaml")


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
    # The hash by its definition in the manual, from YAML and JSON libraries alone.
    words = json.dumps(tree["plan"], sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    assert batch.plan_hash == hashlib.sha256(words.encode()).hexdigest()[:8]
    assert batch.plan_hash == batch.record.issued.plan
    assessment = assess(archive, batch)
    assert assessment is not None and assessment.problems == ()
    assert assessment.result("original_gravity").actual is not None


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
