"""An instrument that errs by another amount at each value: checked at two points or more."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from reference import interp1d

from reportgen.assessment.assess import assess
from reportgen.assessment.instruments import interpolated, shown_by
from reportgen.checks.base import names, run_checks
from reportgen.loading import load_archive
from reportgen.record.load import Archive

EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"
HYDROMETER = "{at: 1.000, reads: 1.002}, {at: 1.050, reads: 1.053}, {at: 1.100, reads: 1.103}"


def archive_with(
    points: str, day: str = "2026-01-02", reading: str = "1.0475", more: str = ""
) -> Archive:
    text = (EXAMPLE / "brewery.yaml").read_text(encoding="utf-8")
    old = next(x for x in text.splitlines() if x.startswith("  hydrometer: {reads"))
    line = f"checks: [{{on: 2026-01-01}}, {{on: {day}, points: [{points}]{more}}}]"
    new = f"  hydrometer: {{reads: hydrometer, resolution: 0.001, uncertainty: 0.001, {line}}}"
    record = (EXAMPLE / RECORD).read_text(encoding="utf-8")
    record += f"\nbrew_day: {{date: 2026-03-14, pitch: {{original_gravity: {reading}}}}}\n"
    given = {"brewery.yaml": text.replace(old, new).encode(), RECORD: record.encode()}
    return load_archive(EXAMPLE, names(), given=given)


@pytest.mark.parametrize("reads", [0.995, 1.002, 1.010, 1.0475, 1.053, 1.09, 1.12])
def test_a_reading_is_corrected_along_the_line_between_the_points(reads: float) -> None:
    archive = archive_with(HYDROMETER, reading=str(reads))
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    error = np.interp(reads, [1.002, 1.053, 1.103], [0.002, 0.003, 0.003])
    assert found.actuals["original_gravity"].value == pytest.approx(reads - error, abs=1e-9)
    # What is shown where that is true is what was read: sheet and record agree.
    true = reads - float(error)
    shown = shown_by(found.brewery.instruments["hydrometer"], "gravity", true)
    assert shown == pytest.approx(reads, abs=1e-9)


def test_interpolation_is_that_of_the_libraries() -> None:
    xs, ys = [4.0, 7.0, 10.0], [0.05, -0.02, 0.1]
    line = interp1d(xs, ys)
    for x in np.linspace(3, 11, 33):
        assert interpolated(float(x), xs, ys) == pytest.approx(np.interp(x, xs, ys), abs=1e-12)
        if 4 <= x <= 10:
            assert interpolated(float(x), xs, ys) == pytest.approx(float(line(x)), abs=1e-12)


def test_points_of_a_later_check_cast_doubt_where_they_err() -> None:
    """2 points off in water, 3 at 1.050: more than U of 1 point; none where it reads true."""
    for points, doubted in ((HYDROMETER, True),
                            ("{at: 1.000, reads: 1.005}, {at: 1.040, reads: 1.040}", False)):
        archive = archive_with(points, day="2026-06-01")
        found = assess(archive, archive.batches["2026-01"])
        assert found is not None
        said = [f for f in run_checks(found) if f.rule == "instrument-in-doubt"]
        assert bool(said) is doubted


@pytest.mark.parametrize(
    "points, more",
    [
        ("{at: 1.000, reads: 1.002}", ""),
        ("{at: 1.050, reads: 1.052}, {at: 1.000, reads: 1.002}", ""),
        ("{at: 1.000, reads: 1.002}, {at: 1.000, reads: 1.003}", ""),
        ("{at: 20 C, reads: 20.5 C}, {at: 60 C, reads: 61 C}", ""),
        ("{at: 10 P, reads: 1.040}, {at: 12 P, reads: 12.2 P}", ""),
        (HYDROMETER, ", reads_high_by: 0.002"),
    ],
)
def test_points_that_cannot_be_are_found_at_their_line(points: str, more: str) -> None:
    found = archive_with(points, more=more).findings
    assert found and {f.rule for f in found} == {"quantity"}
    assert {f.position.file for f in found} == {"brewery.yaml"}
