"""A house in US units: what it reads back is in its own units, and in steps of its own scales."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from houses import house, inside

from reportgen.loading import load_archive

METRIC = re.compile(r"\d (L|kg|g|mL|C|°C|bar|EBC)\b(?! \()")
"""Units that such a house does not have; millilitres of acid are meant to be read off a syringe."""

BREWERY = """
units: US
instruments: {fine_scale: {reads: scale, resolution: 0.01 oz, uncertainty: 0.01 oz},
  floor_scale: {reads: scale, resolution: 0.02 lb, uncertainty: 0.05 lb}}
containers: {corny: {is: keg, volume: 5 gal, number: 8, pressure_rating: 130 psi}}
"""
PLAN = """
plan:
  fermenter_volume: 10.5 gal
  grist: [{malt: pale, amount: 16 lb}]
  liquor: {mash_liquor: 6 gal, salts: [{salt: gypsum, amount: 0.2 oz, to: mash}]}
  boil: {time: 60 min, hops: [{hop: goldings, amount: 1 oz, time: 60 min},
    {hop: goldings, amount: 1 oz, time: 15 min}, {hop: goldings, amount: 1 oz, time: 15 min}]}
  pitch: {yeast: ale, yeast_amount: 0.5 fl oz}
"""
DRY = PLAN.replace("0.5 fl oz", "22 g, form: dry, cells: 10 billion/g")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    aimed = PLAN.replace("plan:", "plan:\n  aims: {colour: 12 SRM}")
    records = {"2026-01": PLAN, "2026-05": aimed, "2026-06": DRY}
    return house(tmp_path_factory.mktemp("us") / "a", records, BREWERY)


def test_a_smaller_batch_is_written_in_pounds_as_its_scale_shows_them(folder: Path) -> None:
    made = inside("new", "2026-02", "--like", "2026-01", "--volume", "8gal", cwd=folder)
    assert made.returncode == 0, made.stderr
    text = (folder / "2026/2026-02.yaml").read_text(encoding="utf-8")
    assert re.search(r"malt: pale, amount: \d+\.\d\d lb}", text)
    apart = ("{acid", "{fining", " SRM)")
    lines = [line for line in text.splitlines() if not any(a in line for a in apart)]
    assert [line for line in lines if METRIC.search(line)] == []
    (folder / "2026/2026-02.yaml").unlink()


@pytest.mark.parametrize(
    ("says", "litres"),
    # 231 cubic inches; Units of Measurement Regulations 1995.
    [("units: imperial", 4.54609), ("{units: imperial, gallon: US}", 3.785411784),
     ("{gallon: imperial}", 4.54609)],
)
def test_a_bare_gallon_is_the_one_that_the_house_prints_or_says(
    tmp_path: Path, says: str, litres: float
) -> None:
    folder = house(tmp_path / "a", {"2026-01": "plan: {fermenter_volume: 5 gal}"}, says)
    archive = load_archive(folder)
    assert [f.message for f in archive.findings] == []
    assert archive.batches["2026-01"].record.plan.fermenter_volume.value == pytest.approx(
        5 * litres
    )


def test_salts_are_proposed_by_the_scale_there_is(folder: Path) -> None:
    out = inside("treat", "2026/2026-01.yaml", "--calcium", "150", cwd=folder).stdout
    assert re.search(r"amount: 0\.\d\d oz, to: mash", out) and " g, to" not in out


def test_each_of_equal_doses_has_a_blank_with_its_time(folder: Path) -> None:
    out = inside("blanks", "2026/2026-01.yaml", cwd=folder).stdout
    hops = [line.partition("#   - ")[2] for line in out.splitlines() if "item: goldings" in line]
    assert [line.partition("# ")[2] for line in hops] == [
        "1 oz planned at 60 min", "1 oz planned at 15 min",
        "1 oz planned at 15 min, 2 of the same",
    ]  # fmt: skip
    assert "container_size:              # keg, e.g. 5 gal" in out


def test_findings_speak_the_units_of_the_house(folder: Path) -> None:
    out = inside("check", "2026/2026-05.yaml", cwd=folder).stdout
    (colour,) = [line for line in out.splitlines() if "Colour: the forecast" in line]
    assert "the aim 24 EBC (12.0 SRM)" in colour
    (yeast,) = [line for line in out.splitlines() if "expected: about" in line and "oz" in line]
    assert re.search(r"about \d+(\.\d+)? (US )?fl oz", yeast)


def test_a_new_plan_shows_what_this_house_measures_in(folder: Path) -> None:
    inside("new", "2026-03", "--name", "Next", cwd=folder)
    text = (folder / "2026/2026-03.yaml").read_text(encoding="utf-8")
    (folder / "2026/2026-03.yaml").unlink()
    left = [line.strip() for line in text.splitlines() if METRIC.search(line)]
    assert [line for line in left if "acid" not in line] == []
    assert "container_size: 5 gal" in text


def test_two_yeasts_of_other_units_are_not_subtracted(folder: Path) -> None:
    out = inside("compare", "2026-01", "2026-06", cwd=folder).stdout
    assert "yeast amount: 0.5 fl oz → 22 g" in out and "Yeast amount" not in out
