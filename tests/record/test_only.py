"""An archive loaded for some files says of these the same as one loaded in full."""

from __future__ import annotations

from pathlib import Path

import pytest
from bad_cases import Case, one_of_each

from reportgen.assessment.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Finding
from reportgen.record.ids import batch_id
from reportgen.record.listing import record_files, record_names
from reportgen.record.load import Archive

BATCHES = Path(__file__).parents[2] / "batches"
GROUPS = ("names", "sense")
"""The groups in which one file bears on another."""


def said(archive: Archive, file: str) -> list[Finding]:
    """Return all findings about one file, of the loader and of the checks."""
    found = set(archive.findings)
    for batch in archive.batches.values():
        assessment = assess(archive, batch) if batch.file == file else None
        if assessment is not None:
            found |= set(run_checks(assessment))
    return sorted(f for f in found if f.position.file == file)


def test_every_record_of_the_demo_is_judged_alike() -> None:
    whole = load_archive(BATCHES, names())
    for path in record_files(BATCHES):
        file = path.relative_to(BATCHES).as_posix()
        part = load_archive(BATCHES, names(), only=[file])
        assert said(part, file) == said(whole, file), file
        assert len(part.batches) < len(whole.batches)


@pytest.mark.parametrize("group", GROUPS)
def test_bad_content_is_told_alike(group: str, tmp_path: Path) -> None:
    for number, case in enumerate(filter(_is_of_records, one_of_each(group))):
        root = tmp_path / str(number)
        case.lay_over(root)
        whole = load_archive(root, names())
        for path in record_files(root):
            file = path.relative_to(root).as_posix()
            part = load_archive(root, names(), only=[file])
            assert said(part, file) == said(whole, file), f"{case.name}: {file}"


def _is_of_records(case: Case) -> bool:
    return any(name.startswith("20") for name in case.texts)


def test_other_records_are_left_alone(tmp_path: Path) -> None:
    for name in ("brewery.yaml", "stock.yaml"):
        (tmp_path / name).write_bytes((BATCHES / name).read_bytes())
    (tmp_path / "2025-01.yaml").write_bytes((BATCHES / "2025/2025-01.yaml").read_bytes())
    (tmp_path / "broken.yaml").write_text("batch: broken\n  nothing: [here\n")
    part = load_archive(tmp_path, only=["2025-01.yaml"])
    assert list(part.batches) == ["2025-01"]
    assert {f.position.file for f in part.findings} == {"2025-01.yaml"}


@pytest.mark.parametrize(
    ("text", "batch"),
    [
        ("format: 1\nbatch: 2026-01\n", "2026-01"),
        ("format: 1\r\nbatch: '2026-01' # the first\r\n", "2026-01"),
        ('batch: "2026-01"\n', "2026-01"),
        ("{format: 1,\nbatch: 2026-01}\n", "2026-01"),
        ('"batch": 2026-01\n', "2026-01"),
        ("name: |\n  batch: other\nbatch: 2026-01\n", "2026-01"),
        ("# batch: other\nbatch:\n  2026-01\n", "2026-01"),
        ("format: 1\n", "file"),
        ("batch: [\n", "file"),
        ("\xff", "file"),
    ],
)
def test_the_id_of_a_file(text: str, batch: str) -> None:
    assert batch_id("2026/file.yaml", text.encode("latin-1")) == batch


def test_where_records_are_looked_for(tmp_path: Path) -> None:
    for name in (
        "a.yaml", "b/i.yml", "b/stock.yaml", "b/build/d.yaml", "b a/j.yaml", "dir.yaml/g.yaml",
        # The files of the house, what is written, templates, and what is hidden are none.
        "brewery.yaml", "stock.yaml", "build/e.yaml", "templates/f.yaml", ".h.yaml", "b/.x/c.yaml",
    ):  # fmt: skip
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("format: 1\n", encoding="utf-8")
    # A folder that is a link is not followed; a link that leads nowhere is said when it is read.
    (tmp_path / "link").symlink_to(tmp_path / "b")
    (tmp_path / "nowhere.yaml").symlink_to("nowhere")
    assert record_names(tmp_path) == (
        "a.yaml", "b/build/d.yaml", "b/i.yml", "b/stock.yaml", "b a/j.yaml", "dir.yaml/g.yaml",
        "nowhere.yaml",
    )  # fmt: skip
