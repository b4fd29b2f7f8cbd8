"""A reading that no formula covers is not used; what the others stand for."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from houses import example_with

from reportgen.assessment.assess import assess
from reportgen.assessment.corrections import Actual
from reportgen.loading import load_archive

EXAMPLE = Path(__file__).parents[1] / "example"


def original_gravity(folder: Path, read: str) -> Actual:
    """Return the original gravity of the example, read as told."""
    shutil.copytree(EXAMPLE, folder)
    record = folder / "2026" / "2026-01.yaml"
    lines = f"\nbrew_day: {{date: 2026-03-14, pitch: {{original_gravity: {read}}}}}\n"
    record.write_text(record.read_text(encoding="utf-8") + lines, encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found.actuals["original_gravity"]


@pytest.mark.parametrize("read", ["65 Bx", "-2 Bx"])
def test_a_refractometer_beyond_its_formula_gives_no_gravity(tmp_path: Path, read: str) -> None:
    """The formula holds from 0 to 60 Brix; what was read is no gravity and is not taken as one."""
    actual = original_gravity(tmp_path / "a", read)
    assert actual.value is None and actual.raw == float(read.split()[0])
    assert actual.note.startswith("not used: brix is")


@pytest.mark.parametrize("sample", ["61 C", "75 C", "99 C"])
def test_a_hydrometer_too_hot_for_its_correction_is_not_used(tmp_path: Path, sample: str) -> None:
    actual = original_gravity(tmp_path / "a", f"{{read: 1.025, sample: {sample}}}")
    assert actual.value is None and actual.raw == 1.025
    assert actual.note.startswith("not used: sample temperature is ")


def test_degrees_plato_are_corrected_as_the_same_gravity_is(tmp_path: Path) -> None:
    """M. Asadi 2007, Beet-Sugar Handbook, Table A.1: 11 g in 100 g is 1.04413 at 20/20 degC."""
    plato = original_gravity(tmp_path / "a", "{read: 11.0 P, sample: 25 C}")
    gravity = original_gravity(tmp_path / "b", "{read: 1.04413, sample: 25 C}")
    assert plato.raw == pytest.approx(1.04413, abs=6e-5)
    assert plato.value == pytest.approx(gravity.value, abs=6e-5)
    assert plato.correction == pytest.approx(gravity.correction, abs=1e-5)


@pytest.mark.parametrize(("sample", "cooled"), [("65 C", 5.55), ("22 C", 5.20)])
def test_the_ph_of_a_hot_sample_is_that_of_a_cooled_one(
    tmp_path: Path, sample: str, cooled: float
) -> None:
    """D.E. Briggs and others 2004: wort reads about 0.35 lower at 65 degC."""
    day = f"brew_day:\n  date: 2026-03-14\n  mash: {{mash_ph: {{read: 5.20, sample: {sample}}}}}\n"
    actual = example_with(tmp_path / "a", later=day).actuals["mash_ph"]
    assert actual.raw == 5.2 and actual.value == pytest.approx(cooled, abs=0.01)
