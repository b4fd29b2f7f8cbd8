"""Slips of the pen that one failing example a check cannot show: what is said, and what is not."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Finding, Severity

EXAMPLE = Path(__file__).parents[1] / "example"


def changed(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1
    file.write_text(text.replace(old, new), encoding="utf-8")


def said(
    folder: Path,
    rule: str,
    text: str,
    house: tuple[str, str] | None = None,
    plan: tuple[str, str] | None = None,
) -> list[Finding]:
    """Return what one check says of the example record with a text after its plan."""
    shutil.copytree(EXAMPLE, folder)
    record = folder / "2026" / "2026-01.yaml"
    if house is not None:
        changed(folder / "brewery.yaml", *house)
    if plan is not None:
        changed(record, *plan)
    record.write_text(record.read_text(encoding="utf-8") + text, encoding="utf-8")
    archive = load_archive(folder, names())
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return [f for f in run_checks(found) if f.rule == rule]


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("mash_temprature", "mash_temperature"),
        ("mash temperature", "mash_temperature"),
        ("kettle-volume", "kettle_volume"),
        ("mash_temperature", ""),
        ("stuck fermentation", ""),
        ("mash", ""),
        ("burst hose", ""),
        ("label", ""),
    ],
)
def test_a_deviation_about_a_mistyped_figure(tmp_path: Path, word: str, meant: str) -> None:
    review = f"review: {{deviations: [{{figure: {word}, what: Off.}}]}}\n"
    found = said(tmp_path / "a", "unknown-figure", review)
    assert [f.remedy for f in found] == ([f"did you mean `{meant}`?"] if meant else [])


@pytest.mark.parametrize(
    ("readings", "message"),
    [
        ("mash: {started: 09:10, mash_temperature: {read: 66 C, at: 08:20}}",
         "Mash temperature: read at 08:20, before the mash began at 09:10"),
        # No start of the boil is written: the kettle cannot be cast out before the run-off.
        ("run_off: {started: 10:20}, boil: {cast_out_volume: {read: 42 L, at: 09:50}}",
         "Cast-out volume, cold: read at 09:50, before the run-off began at 10:20"),
        ("boil: {ended: 12:50}, pitch: {original_gravity: {read: 1.043, at: 12:15}}",
         "Original gravity: read at 12:15, before the boil ended at 12:50"),
        # Making ready comes before the work.
        ("mash: {started: 09:10, strike_temperature: {read: 72 C, at: 09:05}}", ""),
        ("run_off: {started: 10:20, sparge_temperature: {read: 76 C, at: 10:00}}", ""),
        # Past midnight.
        ("boil: {ended: 23:50}, pitch: {original_gravity: {read: 1.043, at: 00:40}}",
         ""),
    ],
)
def test_a_reading_before_its_work(tmp_path: Path, readings: str, message: str) -> None:
    day = f"brew_day: {{date: 2026-03-14, {readings}}}\n"
    found = said(tmp_path / "a", "clock-backwards", day)
    assert [f.message for f in found] == ([message] if message else [])


# The plan has 60 g + 30 g of goldings, 5 g of gypsum, 3 mL of acid, 3 g of carrageenan.
COARSE = "resolution: 10 g, uncertainty: 20 g"
FINE = "resolution: 0.1 g, uncertainty: 0.2 g"


@pytest.mark.parametrize(
    ("weighed", "scale", "severity"),
    [
        ("goldings, amount: 60 g", FINE, Severity.MINOR),
        ("goldings, amount: 84 g", FINE, Severity.NOTE),
        ("goldings, amount: 90.3 g", FINE, None),
        # 84 g on a scale good to 20 g may be 90 g.
        ("goldings, amount: 84 g", COARSE, None),
        ("gypsum, amount: 4.0 g", FINE, Severity.MINOR),
        ("gypsum, amount: 4.7 g", FINE, None),
        ("lactic_80, amount: 4.0 mL", FINE, Severity.MINOR),
        ("carrageenan, amount: 2.0 g", FINE, Severity.MINOR),
        ("pale, amount: 6.2 kg", COARSE, Severity.MINOR),
        ("pale, amount: 6.98 kg", COARSE, None),
    ],
)
def test_too_little_is_told_as_too_much_is(
    tmp_path: Path, weighed: str, scale: str, severity: Severity | None
) -> None:
    weighings = f"weighed: [{{item: {weighed}}}]"
    day = f"brew_day: {{date: 2026-03-14, {weighings}, pitch: {{at: '14:00'}}}}\n"
    found = said(tmp_path / "a", "weighed-differs", day, (COARSE, scale))
    assert [f.severity for f in found] == ([severity] if severity else [])


@pytest.mark.parametrize(("amount", "count"), [("60 g", 0), ("30 g", 0), ("50 g", 1)])
def test_a_day_under_way_may_have_one_dose_of_several(
    tmp_path: Path, amount: str, count: int
) -> None:
    day = f"brew_day: {{date: 2026-03-14, weighed: [{{item: goldings, amount: {amount}}}]}}\n"
    assert len(said(tmp_path / "a", "weighed-differs", day, (COARSE, FINE))) == count


@pytest.mark.parametrize(("end", "count"), [("46 C", 1), ("62 C", 0)])
def test_a_note_far_off_plan_is_asked_about(tmp_path: Path, end: str, count: int) -> None:
    mash = f"{{mash_temperature: 66 C, mash_end_temperature: {end}}}"
    day = f"brew_day: {{date: 2026-03-14, mash: {mash}}}\n"
    found = said(tmp_path / "a", "off-plan-without-review", day)
    assert [f.severity for f in found] == [Severity.NOTE] * count


def test_several_weighings_are_added_and_dry_hops_may_come_later(tmp_path: Path) -> None:
    dry = ("time: 8 d}", "time: 8 d, dry_hops: [{hop: goldings, amount: 40 g, on_day: 5 d}]}")
    for name, amounts, count in (
        ("a", ("60 g", "30 g"), 0),
        ("b", ("60 g", "30 g", "40 g"), 0),
        ("c", ("60 g", "50 g"), 1),
    ):
        lines = ", ".join(f"{{item: goldings, amount: {amount}}}" for amount in amounts)
        day = f"brew_day: {{date: 2026-03-14, weighed: [{lines}]}}\n"
        found = said(tmp_path / name, "weighed-differs", day, (COARSE, FINE), dry)
        assert len(found) == count, name
