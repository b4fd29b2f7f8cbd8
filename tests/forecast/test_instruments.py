"""Checks of instruments: each batch goes by the check that held on its brew day."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks import instrument_check_overdue
from reportgen.checks.base import run_checks
from reportgen.loading import load_archive
from reportgen.report.rows import row_of, shown_range

EXAMPLE = Path(__file__).parents[1] / "example"
HOUSE = """, checks: [
    {on: 2025-02-01, reads_high_by: 0.8 K, uncertainty: 0.6 K, note: ice water 0.8 C},
    {on: 2026-01-02, reads_high_by: -0.3 K},
    {on: 2026-06-01, reads_high_by: 0.1 K, uncertainty: 0.2 K}]}"""


def batch(folder: Path, day: str, read: str = "mash_temperature: 66.0 C") -> Assessment:
    """Return the example brewed on a day, the thermometer with three checks."""
    shutil.copytree(EXAMPLE, folder)
    house, record = folder / "brewery.yaml", folder / "2026" / "2026-01.yaml"
    text = house.read_text(encoding="utf-8")
    old = "uncertainty: 0.4 K, checked: 2026-01-02}"
    assert text.count(old) == 1
    house.write_text(text.replace(old, "uncertainty: 0.4 K" + HOUSE), encoding="utf-8")
    lines = f"\nbrew_day: {{date: {day}, mash: {{{read}}}}}\n" if day else ""
    record.write_text(record.read_text(encoding="utf-8") + lines, encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("day", "true", "u"),
    [
        ("2025-02-01", 65.2, 0.6),
        ("2025-12-31", 65.2, 0.6),
        ("2026-01-02", 66.3, 0.4),
        ("2026-07-01", 65.9, 0.2),
    ],
)
def test_a_batch_goes_by_the_check_that_held_on_its_day(
    tmp_path: Path, day: str, true: float, u: float
) -> None:
    """The reading of 66.0 less what the thermometer showed too much; U of the resolution added."""
    found = batch(tmp_path / "a", day)
    actual = found.actuals["mash_temperature"]
    assert "not-corrected" not in [f.rule for f in run_checks(found)]
    assert actual.value == pytest.approx(true, abs=1e-9)
    assert actual.raw == 66.0 and actual.correction == pytest.approx(true - 66.0, abs=1e-9)
    assert actual.uncertainty == pytest.approx((u**2 + (0.1 / 3**0.5) ** 2) ** 0.5, abs=0.005)
    assert actual.offset.startswith("read 66.0 C; corrected by the check of thermometer")
    assert not actual.note


def test_before_the_first_check_a_reading_stands_and_that_is_said(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", "2024-12-01")
    assert found.actuals["mash_temperature"].value == 66.0
    said = [f.message for f in run_checks(found) if f.rule == "instrument-check-overdue"]
    assert said == ["thermometer was first checked on 2025-02-01, after the brew day"]


def test_a_check_after_the_brew_day_does_not_excuse_one_that_was_overdue(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", "2027-08-01")
    said = [remark.message for remark in instrument_check_overdue.check(found)]
    assert any(m.startswith("thermometer was checked 426 days before") for m in said)


def test_a_batch_not_brewed_goes_by_the_latest(tmp_path: Path) -> None:
    thermometer = batch(tmp_path / "a", "").brewery.instruments["thermometer"]
    assert str(thermometer.checked) == "2026-06-01"


def test_the_range_on_the_sheet_is_of_what_the_instrument_shows(tmp_path: Path) -> None:
    """66 +/- 1 C, U 0.6 K and the step: inside when the thermometer, 0.8 K high, shows as much."""
    found = batch(tmp_path / "a", "2025-03-01", "mash_ph: 5.4")
    figure = found.result("mash_temperature").figure
    u = (0.6**2 + (0.1 / 3**0.5) ** 2) ** 0.5
    assert shown_range(found, figure) == pytest.approx((65 + u + 0.8, 67 - u + 0.8), abs=0.005)
    assert row_of(found, figure, "1", {}).offset == "thermometer +0.8 K"


def test_an_offset_of_another_kind_of_reading_is_not_taken(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", "2026-07-01", "mash_ph: {read: 5.4, instrument: thermometer}")
    assert found.actuals["mash_ph"].value == 5.4


SCALES = """  scale: {reads: scale, resolution: 20 g, uncertainty: 30 g}
  fine_scale: {reads: scale, resolution: 0.1 g, uncertainty: 0.2 g}
"""


@pytest.mark.parametrize(
    ("read", "name", "u"),
    [("120 g", "fine_scale", 0.0002), ("3 kg", "scale", 0.03),
     ("{read: 120 g, instrument: scale}", "scale", 0.03)],
)
def test_small_masses_go_on_the_finest_scale_of_the_house(
    tmp_path: Path, read: str, name: str, u: float
) -> None:
    """A bench scale listed after the floor scale weighs the priming sugar, not a sack."""
    shutil.copytree(EXAMPLE, tmp_path / "a")
    house, record = tmp_path / "a/brewery.yaml", tmp_path / "a/2026/2026-01.yaml"
    lines = house.read_text(encoding="utf-8").splitlines(keepends=True)
    (at,) = (n for n, line in enumerate(lines) if line.startswith("  scale:"))
    lines[at] = SCALES
    house.write_text("".join(lines), encoding="utf-8")
    text = record.read_text(encoding="utf-8").replace("into: keg", "into: bottle")
    packed = f"\npackaging: {{date: 2026-03-24, priming_sugar: {read}}}\n"
    record.write_text(text + packed, encoding="utf-8")
    archive = load_archive(tmp_path / "a")
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    actual = found.actuals["priming_sugar"]
    assert actual.instrument == name
    # The step of 20 g or 0.1 g adds its part to the U of the check.
    assert u <= actual.uncertainty < 1.2 * u
    low, high = shown_range(found, found.result("priming_sugar").figure) or (1.0, 0.0)
    limits = found.result("priming_sugar").limits
    assert limits is not None
    assert (low, high) == pytest.approx((limits.low, limits.high), abs=0.0003)
