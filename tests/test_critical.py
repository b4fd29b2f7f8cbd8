"""Critical limits, from the plan to verdict, severity, deviation, finding and printed record."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.verdicts import Verdict
from reportgen.checks.base import run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Severity
from reportgen.report.documents import RECORD
from reportgen.report.rows import fine_range

EXAMPLE = Path(__file__).parent / "example"
KEG = (
    "  critical_limits: {pressure: {at_most: 1.10 bar, because: the kegs are rated for 1.2 bar}}\n"
)


def batch(folder: Path, critical: str, later: str) -> Assessment:
    """Return the example with a critical limit in its plan and what came later."""
    shutil.copytree(EXAMPLE, folder)
    record = folder / "2026" / "2026-01.yaml"
    plan = record.read_text(encoding="utf-8").replace("plan:\n", f"plan:\n{critical}", 1)
    record.write_text(f"{plan}\nbrew_day: {{date: 2026-03-14}}\n{later}\n", encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == (), archive.findings
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def packed(pressure: str) -> str:
    return f"packaging: {{date: 2026-03-22, beer_temperature: 6.0 C, {pressure}}}"


def said(found: Assessment) -> list[tuple[str, Severity]]:
    return [(f.rule, f.severity) for f in run_checks(found) if "critical" in f.rule]


def printed(found: Assessment) -> str:
    return RECORD.make(found, "A4", 1, "html").decode()


CRITICAL = [("critical-limit-not-kept", Severity.CRITICAL)]


def test_a_reading_clearly_inside_keeps_it(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", KEG, packed("pressure: 0.80 bar"))
    result = found.result("pressure")
    assert result.critical is not None and result.critical.high == pytest.approx(1.10)
    assert not result.is_critical and result.severity == "major"
    assert said(found) == []


def test_a_reading_off_is_a_critical_deviation_on_hold(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", KEG, packed("pressure: 1.30 bar"))
    assert found.result("pressure").verdict is Verdict.OFF_PLAN
    (departure,) = [d for d in found.departures if d.result.figure.key == "pressure"]
    assert departure.severity == "critical" and departure.is_open
    assert departure is found.departures[0], "worst first"
    assert said(found) == CRITICAL
    page = printed(found)
    assert "Hold: a critical limit is not met" in page
    issue = "Pressure for the carbonation wanted, gauge: critical deviation not closed; 1.30 bar"
    assert f"{issue} does not clearly keep the critical limit" in page


def test_a_reading_too_close_to_tell_does_not_keep_it(tmp_path: Path) -> None:
    """1.08 is below 1.10, but the gauge reads to ±0.05 bar."""
    found = batch(tmp_path / "a", KEG, packed("pressure: 1.08 bar"))
    result = found.result("pressure")
    assert result.is_critical and result.severity == "critical"
    assert "pressure" in [d.result.figure.key for d in found.departures]
    assert said(found) == CRITICAL
    assert "the critical limit" in printed(found)


def test_a_missing_or_left_out_reading_does_not_keep_it(tmp_path: Path) -> None:
    for number, words in enumerate(
        (
            "packaged_volume: 37 L",
            "pressure: NOT RECORDED",
            "pressure: not done because gauge broke",
        )
    ):
        found = batch(tmp_path / str(number), KEG, packed(words))
        assert said(found) == CRITICAL, words
        assert found.departures[0].severity == "critical"
        page = printed(found)
        assert "No reading; allowed 1.10" in page, words
        assert "Hold: a critical limit is not met" in page


def test_before_packaging_nothing_is_asked_of_it(tmp_path: Path) -> None:
    found = batch(tmp_path / "a", KEG, "")
    assert said(found) == [] and not found.result("pressure").is_critical


REVIEW = """
review:
  disposition: release
  deviations: [{figure: pressure, what: too high, cause: regulator, cause_certainty: known,
    effect: none, correction: vented to 0.8 bar, corrective_action: new regulator,
    other_batches: none, disposition: release, closed_by: AA%s}]
"""


def test_it_is_held_until_its_deviation_is_closed(tmp_path: Path) -> None:
    wide = packed("pressure: 1.30 bar")
    open_ = batch(tmp_path / "a", KEG, wide + REVIEW % "")
    rules = {f.rule: f.severity for f in run_checks(open_)}
    assert rules["released-with-open-deviation"] is Severity.CRITICAL
    assert rules["critical-limit-not-kept"] is Severity.CRITICAL
    closed = batch(tmp_path / "b", KEG, wide + REVIEW % ", closed_on: 2026-03-23")
    assert said(closed) == []
    assert "released-with-open-deviation" not in [f.rule for f in run_checks(closed)]
    assert closed.departures[0].severity == "critical"


def test_the_stricter_of_tolerance_and_critical_limit_is_on_the_sheet(tmp_path: Path) -> None:
    narrow = (
        "  critical_limits: {mash_temperature: {at_least: 65.8 C, because: starch would stay}}\n"
    )
    found = batch(tmp_path / "a", narrow, "")
    result = found.result("mash_temperature")
    assert result.limits is not None and result.limits.origin == "critical"
    assert (result.limits.low, result.limits.high) == pytest.approx((65.8, 67.0))
    fine = fine_range(found, result.figure)
    u = found.brewery.instruments["thermometer"].uncertainty
    assert fine is not None and u is not None and fine[0] > 65.8 + u.value / 2
    wide = narrow.replace("65.8", "60")
    other = batch(tmp_path / "b", wide, "").result("mash_temperature").limits
    assert other is not None and other.low == pytest.approx(65.0) and other.origin == "default"


def test_a_figure_off_its_tolerance_but_far_from_the_limit_is_no_critical_one(
    tmp_path: Path,
) -> None:
    wide = (
        "  critical_limits: {pressure: {at_most: 3 bar, because: the kegs are rated for 4 bar}}\n"
    )
    found = batch(tmp_path / "a", wide, packed("pressure: 1.30 bar"))
    (departure,) = [d for d in found.departures if d.result.figure.key == "pressure"]
    assert departure.severity == "major" and said(found) == []


@pytest.mark.parametrize(
    ("key", "limit", "low"),
    [
        ("original_gravity", "1.040", 1.040),
        ("mash_ph", "5.2", 5.2),
        ("mash_temperature", "140 F", 60.0),
        ("kettle_volume", "40 L", 40.0),
        ("priming_sugar", "100 g", 0.1),
    ],
)
def test_a_limit_is_read_in_the_unit_of_its_figure(
    tmp_path: Path, key: str, limit: str, low: float
) -> None:
    text = f"  critical_limits: {{{key}: {{at_least: {limit}, because: a test}}}}\n"
    into = "  packaging: {into: bottle, carbonation: 2.2 vol}\n"
    found = batch(tmp_path / "a", text, "")
    if key == "priming_sugar":
        record = found.archive.root / "2026" / "2026-01.yaml"
        lines = record.read_text(encoding="utf-8").splitlines(keepends=True)
        record.write_text("".join(into if "  packaging:" in line else line for line in lines))
        archive = load_archive(found.archive.root)
        again = assess(archive, archive.batches["2026-01"])
        assert again is not None
        found = again
    critical = found.result(key).critical
    assert critical is not None and critical.low == pytest.approx(low)
    assert "unknown-figure" not in [f.rule for f in run_checks(found)]


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ("presure: {at_most: 1 bar, because: x}", "`presure` is not a figure that is read"),
        ("conversion: {at_most: 60 %, because: x}", "`conversion` is not a figure that is read"),
    ],
)
def test_a_limit_that_could_never_hold_is_said(tmp_path: Path, entry: str, words: str) -> None:
    found = batch(tmp_path / "a", f"  critical_limits: {{{entry}}}\n", "")
    assert any(f.rule == "unknown-figure" and words in f.message for f in run_checks(found))
