"""Sheets of a house whose gravities are read in degrees: a refractometer alone, a Plato spindle."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked import archive_with

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import run_checks
from reportgen.report.cellar import cellar_sheet
from reportgen.report.sheet import brew_day_sheet
from reportgen.report.weigh_out import weigh_out_sheet

ALONE = "hydrometer: ''"
PLATO = "refractometer: '', hydrometer: {resolution: 0.1 P, uncertainty: 0.1 °P}"
DAY = """
brew_day: {date: 2026-03-14, pitch: {original_gravity: 13.0 Bx}}
fermentation: {log: [{at: 2026-03-20 18:00, gravity: %s}], final_gravity: %s}
"""


def house(instruments: str, folder: Path, more: str = "") -> Assessment:
    archive = archive_with(f"brewery: {{instruments: {{{instruments}}}}}\n{more}", folder)
    assert archive.findings == (), archive.findings
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


@pytest.mark.parametrize("instruments", [ALONE, PLATO])
def test_gravities_are_printed_to_what_can_be_told_apart(instruments: str, tmp_path: Path) -> None:
    view = brew_day_sheet(house(instruments, tmp_path / "a"), "A4")
    rows = {row.key: row for step in view.steps for row in step.rows}
    for key in ("kettle_gravity", "cast_out_gravity", "original_gravity"):
        row = rows[key]
        assert len(row.expect.partition(".")[2]) == 3 and row.ok and not row.coarse, key


def test_a_refractometer_alone_has_what_it_shows_beside_each_gravity(tmp_path: Path) -> None:
    batch = house(ALONE, tmp_path / "a")
    assert "no-instrument" not in {f.rule for f in run_checks(batch)}
    assert weigh_out_sheet(batch, "A4").instruments[0].reads == "Refractometer"
    (wort,) = (
        table for step in brew_day_sheet(batch, "A4").steps for table in step.lookups
        if table.serves == "original_gravity"
    )
    # 12.5 degrees Brix over 1.04 are 12.02 degrees Plato, 1.0485 (table of Plato).
    assert dict(wort.rows)["12.5"] == "1.048"
    (beer,) = cellar_sheet(batch, "A4").lookups
    gravities = [float(gravity) for _, gravity in beer.rows]
    expected = batch.planned.expected["final_gravity"].value
    assert gravities[0] < expected < gravities[-1] and len(beer.rows) == 6


@pytest.mark.parametrize(("read", "is_told"), [("1.026", True), ("6.6 Bx", False)])
def test_beer_read_on_the_sg_scale_of_a_refractometer(
    read: str, is_told: bool, tmp_path: Path
) -> None:
    """6.6 degrees Brix are 1.0261 of sugar, but the beer that shows them is near 1.011."""
    batch = house(ALONE, tmp_path / "a", DAY % ("6.6 Bx", read))
    told = {f.rule: f.remedy for f in run_checks(batch)}
    assert ("mistyped" in told) is is_told
    if is_told:
        assert told["mistyped"].startswith("did you mean 6.6 Bx?")
    alone = house(ALONE, tmp_path / "b", DAY % (read, read))
    assert ("instrument-of-another-kind" in {f.rule for f in run_checks(alone)}) is is_told


def test_beer_is_read_without_an_original_gravity_by_the_forecast_of_it(tmp_path: Path) -> None:
    """Less surely, by what the forecast of it is unsure."""
    unread = DAY.replace("original_gravity: 13.0 Bx", "original_gravity: NOT RECORDED")
    batch = house(ALONE, tmp_path / "a", unread % ("6.6 Bx", "6.6 Bx"))
    forecast = batch.planned.expected["original_gravity"].value
    read = DAY.replace("13.0 Bx", f"{forecast:.4f}")
    same = house(ALONE, tmp_path / "b", read % ("6.6 Bx", "6.6 Bx"))
    ours, theirs = (one.actuals["final_gravity"] for one in (batch, same))
    assert ours.value == pytest.approx(theirs.value, abs=0.0003)
    assert ours.uncertainty > 1.1 * theirs.uncertainty
    told = {f.rule for f in run_checks(batch)}
    assert not {"no-final-gravity", "not-corrected", "pressure-over-limit"} & told


def test_a_slip_in_degrees_brix_of_wort_is_told_once(tmp_path: Path) -> None:
    slip = DAY.replace("13.0 Bx", "21.3 Bx") % ("6.2 Bx", "6.2 Bx")
    batch = house(ALONE, tmp_path / "a", slip)
    at = batch.actuals["original_gravity"].reading.position
    (told,) = [f for f in run_checks(batch) if f.position == at]
    assert told.rule == "mistyped" and told.remedy.startswith("did you mean 12.3 Bx?")
