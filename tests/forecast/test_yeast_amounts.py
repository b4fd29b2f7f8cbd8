"""Yeast: too little, too much, another unit, a share that cannot be; in print in its own unit."""

from __future__ import annotations

from pathlib import Path

import pytest
from checked import findings_with

from reportgen.assessment.assess import assess
from reportgen.loading import load_archive
from reportgen.record.finding import Finding, Severity
from reportgen.record.printed import Units
from reportgen.report.parts import ReadingRow
from reportgen.report.plan_text import yeast_text
from reportgen.report.rows import row_of

DRY = (
    "stock: {yeasts: {dry: {ferments: ale, form: dry, apparent_attenuation: 77 %%, "
    "cells: {dry: 10 billion/g}}}}\nplan: {pitch: {yeast: dry%s}}\n"
)
DAY = "brew_day: {date: 2026-03-14, pitch: {yeast_amount: %s}}\n"
OURS = {"yeast-amount-unusual", "yeast-harvest-unlikely"}


def ours(patch: str, folder: Path) -> list[Finding]:
    return [f for f in findings_with(patch, folder / "house") if f.rule in OURS]


# 40 L of SG 1.049 (12.2 degP) and 0.75 million/(mL degP) ask for 366 billion cells (Fix and
# Fix 1997): 37 g at 10 billion/g, 0.30 L at 1.2 billion/mL.
@pytest.mark.parametrize("amount", ["20 g", "22 g", "31 g", "0.07 lb", "60 g", "2.0 oz"])
def test_sound_amounts_of_dry_yeast(amount: str, tmp_path: Path) -> None:
    assert ours(DRY % "" + DAY % amount, tmp_path / "d") == []
    assert ours(DRY % f", yeast_amount: {amount}", tmp_path / "p") == []


@pytest.mark.parametrize("amount", ["0.16 L", "0.3 L", "300 mL", "10 US fl oz", "0.7 L"])
def test_sound_amounts_of_slurry(amount: str, tmp_path: Path) -> None:
    assert ours(DAY % amount, tmp_path) == []


@pytest.mark.parametrize(
    ("amount", "severity", "word"),
    [
        ("1 g", Severity.MAJOR, "too little"),
        ("11 g", Severity.MINOR, "too little"),
        ("115 g", Severity.MINOR, "too much"),
        ("22.9 kg", Severity.MAJOR, "too much"),
        ("31 mg", Severity.MAJOR, "too little"),
    ],
)
def test_dry_yeast_that_is_off(
    amount: str, severity: Severity, word: str, tmp_path: Path
) -> None:
    for number, text in enumerate((DRY % "" + DAY % amount, DRY % f", yeast_amount: {amount}")):
        (found,) = ours(text, tmp_path / str(number))
        assert found.severity is severity
        assert word in found.message


@pytest.mark.parametrize(
    ("amount", "severity"),
    [("300 L", Severity.MAJOR), ("0.30 mL", Severity.MAJOR), ("3 L", Severity.MAJOR),
     ("1 L", Severity.MINOR), ("0.1 L", Severity.MINOR), ("1 mL", Severity.MAJOR)],
)  # fmt: skip
def test_slurry_that_is_off(amount: str, severity: Severity, tmp_path: Path) -> None:
    (found,) = ours(DAY % amount, tmp_path)
    assert found.severity is severity


@pytest.mark.parametrize(
    ("amount", "is_off"), [("0.2 L", False), ("300 L", True), ("0.3 mL", True)]
)
def test_a_dry_yeast_pitched_as_slurry(amount: str, is_off: bool, tmp_path: Path) -> None:
    """Harvested slurry of a yeast bought dry has no count: only a factor of ten is told."""
    assert bool(ours(DRY % "" + DAY % amount, tmp_path)) == is_off


@pytest.mark.parametrize("viability", ["95 %", "100 %", "60 %"])
@pytest.mark.parametrize("amount", ["0.2 L", "1.2 L", "3 L"])
def test_a_sound_harvest(viability: str, amount: str, tmp_path: Path) -> None:
    text = f"{{at: 2026-03-22 10:00, viability: {viability}, amount: {amount}}}"
    day = "brew_day: {date: 2026-03-14}\n"
    assert ours(day + f"fermentation: {{harvest: {text}}}\n", tmp_path) == []


@pytest.mark.parametrize("amount", ["300 L", "0.30 mL", "0 L"])
def test_a_harvest_of_nothing_or_a_tank(amount: str, tmp_path: Path) -> None:
    text = "brew_day: {date: 2026-03-14}\nfermentation: {harvest: {at: 2026-03-22 10:00, "
    (found,) = ours(text + f"amount: {amount}}}}}\n", tmp_path)
    assert "of yeast from" in found.message


def _row(patch: str, folder: Path, units: str = "metric") -> ReadingRow:
    from reportgen.forecast.figures import FIGURES

    findings_with(patch, folder, units)
    archive = load_archive(folder)
    found = assess(archive, next(iter(archive.batches.values())))
    assert found is not None
    return row_of(found, FIGURES["yeast_amount"], "1", {})


def _plain(text: str) -> str:
    return text.replace("\u202f", " ")


@pytest.mark.parametrize("units", ["metric", "US", "imperial"])
def test_the_sheet_asks_for_slurry_in_millilitres(units: str, tmp_path: Path) -> None:
    row = _row("plan: {pitch: {yeast_amount: 100 mL}}", tmp_path / "house", units)
    assert _plain(row.expect) == "100 mL"
    assert row.unit == "mL"
    assert "mL needed" in _plain(row.note)


def test_the_sheet_asks_for_the_dry_yeast_that_is_planned(tmp_path: Path) -> None:
    row = _row(DRY % ", yeast_amount: 11 g", tmp_path / "house")
    assert _plain(row.expect) == "11.0 g"
    assert row.unit == "g"
    assert "g needed" in _plain(row.note)


def test_a_dry_yeast_planned_as_slurry_is_asked_for_in_millilitres(tmp_path: Path) -> None:
    row = _row(DRY % ", yeast_amount: 0.02 L", tmp_path / "house")
    assert (_plain(row.expect), row.unit) == ("20 mL", "mL")


def test_a_dry_yeast_in_ounces_for_those_who_weigh_in_them(tmp_path: Path) -> None:
    row = _row(DRY % ", yeast_amount: 1.0 oz", tmp_path / "house", "US")
    assert (_plain(row.expect), row.unit) == ("1.00 oz", "oz")


@pytest.mark.parametrize("system", ["metric", "US"])
def test_small_volumes_in_the_record(system: str) -> None:
    from reportgen.record.units import parse_quantity

    units = Units(system)
    assert _plain(yeast_text(parse_quantity("100 mL", "volume"), units)) == "100 mL"
    assert _plain(yeast_text(parse_quantity("0.30 mL", "volume"), units)) == "0.30 mL"
