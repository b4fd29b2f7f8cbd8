"""Records, kit and stock with random slips: never an exception, every finding inside its file.

A few dozen examples run with the suite; ``REPORTGEN_FUZZ=2000`` runs that many.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from mutate import mutated

from reportgen.archive.checked import findings_in
from reportgen.archive.published import finding_line
from reportgen.assessment.assess import assess
from reportgen.checks.base import names
from reportgen.loading import load_archive
from reportgen.record.finding import render_text
from reportgen.report.figure_rows import row_in_base_units

ROOT = Path(__file__).parents[2]
EXAMPLES = int(os.environ.get("REPORTGEN_FUZZ", "20"))
BATCH = "2026/2026-01.yaml"
DEMO = ROOT / "batches"
HOUSE = {name: (DEMO / name).read_text("utf-8") for name in ("brewery.yaml", "stock.yaml")}
OTHER = (DEMO / "2025/2025-03.yaml").read_text("utf-8")
RECORDS = (
    (DEMO / BATCH).read_text("utf-8"),
    OTHER.replace("batch: 2025-03", "batch: 2026-01").replace("harvested_from: 2025-01", "lot: a"),
)
bounded = settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=EXAMPLES <= 20,
    database=None,
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fuzz")
    (folder / "2026").mkdir()
    return folder


def judge(root: Path, files: dict[str, str]) -> None:
    """Write the files, do everything that reads them, and look at what is said."""
    for name, text in files.items():
        (root / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    archive = load_archive(root, names())
    findings = findings_in(archive)
    for batch in archive.batches.values():
        assessment = assess(archive, batch)
        if assessment is None:
            assert any(f.severity.value == "error" for f in archive.findings), "lost in silence"
            continue
        for result in assessment.results:
            row_in_base_units(assessment, result)
    for finding in findings:
        place = finding.position
        source = archive.sources.get(place.file)
        if source is not None and source.lines:
            assert 1 <= place.line <= len(source.lines), finding
            assert 1 <= place.column <= len(source.line(place.line)) + 1, finding
            assert place.column <= place.end_column <= len(source.line(place.line)) + 1, finding
        assert finding.message
        render_text(finding), finding_line(finding)


@bounded
@given(data=st.data(), number=st.integers(0, len(RECORDS) - 1))
def test_a_record_with_slips(root: Path, data: st.DataObject, number: int) -> None:
    text = data.draw(mutated(RECORDS[number]))
    judge(root, {**HOUSE, BATCH: text})


@bounded
@given(data=st.data(), name=st.sampled_from(sorted(HOUSE)))
def test_kit_and_stock_with_slips(root: Path, data: st.DataObject, name: str) -> None:
    judge(root, {**HOUSE, BATCH: RECORDS[0], name: data.draw(mutated(HOUSE[name]))})


def test_the_sound_files_are_sound(root: Path) -> None:
    judge(root, {**HOUSE, BATCH: RECORDS[0]})
