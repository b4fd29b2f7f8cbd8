"""Plan against actual: what the record has as the plan is what the sheet had."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from printed import ARCHIVE, BREWED, assessed

from reportgen.report.batch_record import batch_record
from reportgen.report.record_sections.plan_against_actual import FigureLine
from reportgen.report.sheet import brew_day_sheet

TITLE = "Last runnings gravity"


def brewed(folder: Path, runnings: str) -> Path:
    """Return an archive whose brewed batch has other last runnings."""
    shutil.copytree(ARCHIVE, folder)
    path = next(folder.rglob(f"{BREWED}.yaml"))
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    (at,) = [n for n, line in enumerate(lines) if "last_runnings_gravity:" in line]
    indent = lines[at][: len(lines[at]) - len(lines[at].lstrip())]
    lines[at] = f"{indent}last_runnings_gravity: {runnings}\n"
    path.write_text("".join(lines), encoding="utf-8")
    return folder


def runnings_line(root: Path) -> FigureLine:
    groups = batch_record(assessed(BREWED, root), "A4").groups
    return next(line for group in groups for line in group.lines if line.title == TITLE)


@pytest.mark.parametrize("read", ["1.010", "NOT RECORDED"])
def test_the_plan_of_the_last_runnings_is_where_the_sheet_says_to_stop(
    tmp_path: Path, read: str
) -> None:
    root = brewed(tmp_path / "a", read)
    batch = assessed(BREWED, root)
    rows = [row for step in brew_day_sheet(batch, "A4", 1).steps for row in step.rows]
    on_sheet = next(row for row in rows if row.key == "last_runnings_gravity")
    line = runnings_line(root)
    assert (on_sheet.expect_label, float(on_sheet.expect)) == ("Stop at", float(line.plan))
    forecast = batch.planned.expected["last_runnings_gravity"].value
    assert line.note.startswith(f"plan: stop at; forecast {forecast:.4f}")
    assert forecast != pytest.approx(float(line.plan), abs=1e-4)


def test_last_runnings_are_counted_from_where_to_stop(tmp_path: Path) -> None:
    """Read without a sample temperature: 1.010 less 1.008, as the sheet has it: the 1.006 of the
    plan and the U of a hydrometer that is read to 0.001."""
    line = runnings_line(brewed(tmp_path / "a", "1.010"))
    assert (line.plan, line.actual, line.difference) == ("1.0080", "1.0100", "+0.0020")
