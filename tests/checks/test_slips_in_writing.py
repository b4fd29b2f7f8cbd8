"""Slips of the pen that one failing example a check cannot show: what is said, and what is not."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.record.finding import Finding
from reportgen.record.load import load_archive

EXAMPLE = Path(__file__).parents[1] / "example"


def said(folder: Path, rule: str, text: str) -> list[Finding]:
    """Return what one check says of the example record with a text after its plan."""
    shutil.copytree(EXAMPLE, folder)
    record = folder / "2026" / "2026-01.yaml"
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
