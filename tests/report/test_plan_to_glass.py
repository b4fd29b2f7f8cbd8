"""From plan to glass, as printed: the steps add up, and what was overruled is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.explained import explain
from reportgen.loading import load_archive
from reportgen.report.plan_to_glass import PlanToGlass, plan_to_glass

DEMO = Path(__file__).parents[2] / "batches"
BATCHES = ("2025-03", "2026-04", "2026-08")


def batch(name: str) -> Assessment:
    archive = load_archive(DEMO, only=[f"{name[:4]}/{name}.yaml"])
    found = assess(archive, archive.batches[name])
    assert found is not None
    return found


def view(found: Assessment) -> PlanToGlass:
    made = plan_to_glass(found, explain(found), {})
    assert made is not None
    return made


def number(text: str) -> float:
    return float(text.replace("\u2212", "-").strip("‡") or 0)


@pytest.mark.parametrize("name", BATCHES)
def test_printed_steps_add_up_to_the_last_digit(name: str) -> None:
    made = view(batch(name))
    for column, (start, end) in enumerate(zip(made.planned, made.glass, strict=True)):
        steps = [number(row.cells[column].text) for row in made.rows]
        places = len(end.partition(".")[2])
        assert round(number(start) + sum(steps), places) == number(end), made.heads[column]


def test_a_stuck_fermentation_is_what_nothing_before_explains() -> None:
    made = view(batch("2026-08"))
    row = next(r for r in made.rows if r.title == "Final gravity")
    cell = row.cells[made.heads.index("FG, SG")]
    assert cell.text.endswith("‡") and cell.clear
    assert number(cell.text) == pytest.approx(0.004, abs=0.0005)
    assert made.chart is not None and "not explained +0.00" in made.chart.svg


def test_a_later_reading_that_takes_back_an_earlier_step_says_so() -> None:
    notes = {r.title: r.note for r in view(batch("2026-08")).rows}
    assert notes["Cast-out volume, cold"] == "overrules sparge liquor"
    assert notes["Mash temperature"] == ""
