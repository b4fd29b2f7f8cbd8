"""Liquor to heat, by hand: water takes 4.186 kJ/kg/K (the old calorie of 15 degC)."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.assessment.assess import assess
from reportgen.forecast.heating import COLD, liquor_to_heat
from reportgen.loading import load_archive
from reportgen.science.number import nominal

EXAMPLE = Path(__file__).parents[1] / "example"


def test_each_vessel_has_its_liquor_and_time() -> None:
    archive = load_archive(EXAMPLE)
    batch = assess(archive, archive.batches["2026-01"])
    assert batch is not None
    wanted = {one.vessel: one for one in liquor_to_heat(batch.case, batch.planned, 5.5)}
    assert list(wanted) == ["Mash", "Sparge"]
    assert wanted["Mash"].litres == pytest.approx(nominal(batch.planned["mash_liquor"]))
    assert wanted["Sparge"].litres == pytest.approx(nominal(batch.planned["sparge_liquor"]))
    for one in wanted.values():
        assert one.temperature is not None
        by_hand = one.litres * 4.186 * (one.temperature - COLD) / 5.5 / 60
        assert one.minutes == pytest.approx(by_hand, rel=0.01)
    for one in liquor_to_heat(batch.case, batch.planned, None):
        assert one.minutes is None
