"""What cannot be read is not judged: its own error is the one finding."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Severity

EXAMPLE = Path(__file__).parents[1] / "example"
DAY = "brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}\n"
LOG = """fermentation:
  log:
    - {at: 2026-03-22 18:00, gravity: 1.011}
    - {at: 2026-03-24 18:00, gravity: 1.011}
"""
WRONG_LOG = LOG.replace("03-24", "03-34")
PACKED = "packaging: {date: 2026-03-24}\n"


def rules(folder: Path, text: str) -> tuple[list[str], list[str]]:
    """Return the errors and the rules of the checks."""
    shutil.copytree(EXAMPLE, folder)
    path = folder / "2026" / "2026-01.yaml"
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    archive = load_archive(folder, names())
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    errors = [f.rule for f in archive.findings if f.severity is Severity.ERROR]
    return errors, [f.rule for f in run_checks(found)]


@pytest.mark.parametrize(
    "text",
    [
        DAY.replace("2026-03-14", "2026-02-30") + LOG + PACKED,
        DAY + WRONG_LOG + PACKED,
        DAY + LOG.replace("03-24 18:00, gravity: 1.011", "03-24 18:00, gravity: 1,011") + PACKED,
        DAY + WRONG_LOG.replace("fermentation:", '"fermentation" :') + PACKED,
        DAY + WRONG_LOG.replace("18:00, g", "18:00,\n# at the margin\n      g") + PACKED,
    ],
    ids=["day", "moment of the log", "gravity of the log", "quoted key", "over two lines"],
)
def test_what_cannot_be_read_makes_no_beer_unsteady(tmp_path: Path, text: str) -> None:
    errors, said = rules(tmp_path / "a", text)
    assert len(errors) == 1
    assert "sealed-before-steady" not in said and "fermentation-stuck" not in said


@pytest.mark.parametrize("day", [DAY, DAY.replace("2026-03-14", "2026-02-30")])
def test_a_log_that_falls_is_still_told(tmp_path: Path, day: str) -> None:
    errors, said = rules(tmp_path / "a", day + LOG.replace("1.011", "1.016", 1) + PACKED)
    assert len(errors) == ("02-30" in day) and "sealed-before-steady" in said
