"""A second reading: the mean counts, with the U that a mean has."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive

ARCHIVE = Path(__file__).parent / "report" / "archive"


def mash(folder: Path, reading: str) -> Assessment:
    shutil.copytree(ARCHIVE, folder)
    record = folder / "2026" / "2026-01.yaml"
    text = record.read_text(encoding="utf-8")
    old = "mash_ph: {read: 5.45, sample: 22 C}"
    assert old in text
    record.write_text(text.replace(old, f"mash_ph: {reading}"), encoding="utf-8")
    archive = load_archive(folder)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def test_the_mean_counts_with_a_smaller_u(tmp_path: Path) -> None:
    """The meter is stated good to ±0.05 and has steps of 0.01: k = 2 of a rectangle of that step is
    0.01/sqrt(3) = 0.00577, of the mean of two 0.00408 (JCGM 100, 4.2.3 and 4.3.7)."""
    once = mash(tmp_path / "once", "{read: 5.45, sample: 22 C}").actuals["mash_ph"]
    twice = mash(tmp_path / "twice", "{read: 5.45, again: 5.49, sample: 22 C}").actuals["mash_ph"]
    assert twice.value == pytest.approx(5.47)
    assert once.uncertainty == pytest.approx((0.05**2 + 0.00577**2) ** 0.5, abs=1e-5)
    assert twice.uncertainty == pytest.approx((0.05**2 + 0.00408**2) ** 0.5, abs=1e-5)
    assert twice.uncertainty < once.uncertainty


def test_a_second_reading_of_another_kind_is_refused(tmp_path: Path) -> None:
    batch = mash(tmp_path / "kind", "{read: 5.45, again: 20 C}")
    assert any(f.rule == "quantity" for f in batch.archive.findings)
