"""Earlier mashes of a malt, read, make the next mash pH surer: from records to the next sheet."""

from __future__ import annotations

import re
import statistics
from pathlib import Path

import pytest
from houses import house, inside

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive
from reportgen.report.sheet import brew_day_sheet
from reportgen.science.number import nominal

READ = (5.52, 5.55, 5.53, 5.56, 5.54, 5.53)
"""Six mashes of one malt, read with a meter good to 0.05."""
NEXT = {"2026-09": ""}
DAYS = {
    f"2026-0{n}": f"brew_day: {{date: 2026-0{n}-10, mash: {{mash_ph: {ph}}}}}"
    for n, ph in enumerate(READ, 1)
}


def planned(root: Path) -> Assessment:
    archive = load_archive(root)
    found = assess(archive, archive.batches["2026-09"])
    assert found is not None and found.problems == ()
    return found


def test_own_mashes_take_what_is_not_known_of_the_malt_off(tmp_path: Path) -> None:
    root = house(tmp_path / "house", {**DAYS, **NEXT})
    before = planned(root).planned.expected["mash_ph"]
    said = inside("history", cwd=root).stdout
    own = float(re.search(r"distilled_water_mash_ph: ([\d.]+)", said)[1])  # type: ignore[index]
    wide = float(
        re.search(r"distilled_water_mash_ph_uncertainty: ([\d.]+)", said)[1]  # type: ignore[index]
    )
    # 95 % prediction interval of the seventh: t = 2.571 for five degrees of freedom (tables).
    spread = statistics.stdev(READ)
    assert wide == pytest.approx(2.571 * spread * (1 + 1 / 6) ** 0.5, abs=0.02)
    figures = f"{{distilled_water_mash_ph: {own}, distilled_water_mash_ph_uncertainty: {wide}}}"
    malt = f"malts: {{pale: {figures}}}"
    then = planned(house(tmp_path / "then", {**DAYS, **NEXT}, stock=malt))
    after = then.planned.expected["mash_ph"]
    # What was read is what is now expected of the same mash, and the sheet says how well.
    assert after.value == pytest.approx(statistics.mean(READ), abs=0.01)
    assert abs(before.value - after.value) < before.uncertainty
    assert after.uncertainty < 0.75 * before.uncertainty
    assert after.uncertainty > wide * 0.8
    mash = next(step for step in brew_day_sheet(then, "A4").steps if step.title == "Mash")
    without = then.planned.expected["mash_ph_without_acid"].value
    assert mash.doing[-1] == (
        f"pH forecast ±{after.uncertainty:.2f}; acid lowers it by {without - after.value:.2f}."
    )


def test_the_acid_of_a_plan_is_told_by_what_it_moves(tmp_path: Path) -> None:
    """3 mL of 80 % lactic acid are 31 mEq at pH 5.5. The rules of dosing bracket it: 1 % of
    acidulated malt of 2 to 4 % for 0.1 pH means 22 to 44 mEq/(kg pH) of grist, the German table
    (60 mL for 100 kg and 0.1 pH) 61 to 64."""
    found = planned(house(tmp_path / "a", NEXT))
    moved = (
        found.planned.expected["mash_ph_without_acid"].value
        - found.planned.expected["mash_ph"].value
    )
    grist = nominal(found.case.grist)
    assert 31 / (64 * grist) < moved < 31 / (22 * grist)
    none = planned(house(tmp_path / "b", {"2026-09": "plan: {liquor: {acids: []}}"}))
    assert "mash_ph_without_acid" not in none.planned
    mash = next(step for step in brew_day_sheet(none, "A4").steps if step.title == "Mash")
    assert not any("acid" in line for line in mash.doing)
