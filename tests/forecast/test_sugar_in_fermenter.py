"""Sugar in the fermenter counts from the start: gravity, volume, band, log and chart."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from checked import findings_with
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast.actions import slow_fermentation
from reportgen.forecast.case import Case, SugarDose
from reportgen.forecast.ferment import mixed, starting_gravity
from reportgen.loading import load_archive
from reportgen.report.cellar import cellar_sheet
from reportgen.report.small_fermentation import small_fermentation
from reportgen.science.number import nominal

WATER = 0.998203
"""Density of water at 20 degC, kg/L (CRC Handbook)."""

TABLE = {10: 1.0381, 15: 1.0592, 19: 1.0766, 20: 1.0810}
"""Density of sucrose solutions at 20 degC, kg/L by mass per cent: CRC Handbook of Chemistry and
Physics, 102nd ed., Concentrative Properties of Aqueous Solutions."""

STOCK = "stock: {sugars: {syrup: {extract: 80 %, fermentability: 100 %}}}\n"
SUGAR = STOCK.replace("%", "%%") + "plan: {sugars: [{sugar: %s, amount: %s, to: %s}]}\n"
READ = "brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.050, fermenter_volume: 40 L"


def batch(patch: str, folder: Path) -> Assessment:
    findings_with(patch, folder / "house")
    archive = load_archive(folder / "house")
    found = assess(archive, next(iter(archive.batches.values())))
    assert found is not None
    return found


def a_case(sugar: SugarDose) -> Case:
    """The case of the example with this sugar alone."""
    archive = load_archive(Path(__file__).parents[1] / "example")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return replace(found.case, sugars=(sugar,))


@pytest.mark.parametrize("share", [1.0, 0.8], ids=["sugar", "syrup"])
@pytest.mark.parametrize("strength", [15, 19, 20])
def test_the_mixture_follows_from_masses(share: float, strength: int) -> None:
    """From 10 % to another line of the table: extract and water add up, volumes do not."""
    wort = 40.0 * TABLE[10]
    sugar = wort * (strength - 10) / (100 * share - strength)
    added = SugarDose("s", "S", sugar, share, 1.0, 0.0, "fermenter")
    volume, gravity = mixed(40.0, TABLE[10] / WATER, a_case(added))
    assert nominal(gravity) == pytest.approx(TABLE[strength] / WATER, abs=0.0001)
    assert nominal(volume) == pytest.approx((wort + sugar) / TABLE[strength], rel=0.0002)


def test_kettle_sugar_is_not_counted_twice() -> None:
    kettle = SugarDose("s", "S", 2.0, 1.0, 1.0, 0.0, "kettle")
    assert mixed(40.0, 1.050, a_case(kettle)) == (40.0, 1.050)


def test_planned_sugar_that_went_in_later_in_parts_counts_once(tmp_path: Path) -> None:
    """1.2 kg were planned; 0.6 and 0.5 kg are what went in. Weighed on the day, they are more."""
    plan = SUGAR % ("white_sugar", "1.2 kg", "fermenter")
    parts = "".join(
        f"{{what: white_sugar, amount: {mass}, to: fermenter, at: 2026-03-{day} 10:00}}, "
        for mass, day in (("0.6 kg", 16), ("0.5 kg", 18))
    )
    later = f"fermentation: {{added: [{parts}]}}\n"
    cases = {"once": "}}\n", "whole": "}, weighed: [{item: white_sugar, amount: 1.2 kg}]}\n"}
    sugar = {}
    for name, end in cases.items():
        found = batch(plan + READ + end + later, tmp_path / name)
        sugar[name] = sum(nominal(s.amount) for s in found.brewed.sugars if s.to == "fermenter")
    assert sugar == pytest.approx({"once": 1.1, "whole": 2.3})


def test_two_litres_of_beer_come_of_it(tmp_path: Path) -> None:
    """2 kg of sugar take up 1.2 L (0.62 L/kg, sucrose at infinite dilution 0.6)."""
    without = batch("plan: {}", tmp_path / "a")
    with_it = batch(SUGAR % ("white_sugar", "2 kg", "fermenter"), tmp_path / "b")
    more = nominal(with_it.planned["packaged_volume"]) - nominal(without.planned["packaged_volume"])
    assert more == pytest.approx(1.24, abs=0.04)
    assert nominal(with_it.planned["original_gravity"]) == pytest.approx(
        nominal(without.planned["original_gravity"])
    ), "read before the sugar"


def test_syrup_brings_its_water(tmp_path: Path) -> None:
    dry = batch(SUGAR % ("white_sugar", "1.6 kg", "fermenter"), tmp_path / "a")
    wet = batch(SUGAR % ("syrup", "2 kg", "fermenter"), tmp_path / "b")
    more = nominal(wet.planned["packaged_volume"]) - nominal(dry.planned["packaged_volume"])
    assert more == pytest.approx(0.4 / WATER, abs=0.01)


def test_band_log_chart_and_tables_start_from_it(tmp_path: Path) -> None:
    log = "}}\nfermentation: {log: [{at: 2026-03-15 15:00, gravity: 1.055}]}\n"
    found = batch(SUGAR % ("white_sugar", "2 kg", "fermenter") + READ + log, tmp_path)
    start = nominal(starting_gravity(found.now))
    # 40 L at 12.39 degP (1.050) weigh 41.9 kg: 7.19 of 43.9 kg are 16.4 degP, SG 1.067.
    assert start == pytest.approx(1.0670, abs=0.0005)
    first = cellar_sheet(found, "A4").days[0]
    assert float(re.findall(r"1\.\d+", first.band)[-1]) > 1.050
    chart = small_fermentation(found)
    assert chart is not None
    words = re.sub(r"\s+", " ", chart.svg)
    assert "1.067" in words, words
    slow = slow_fermentation(found.case, found.planned).rows[0][1]
    without = batch("plan: {}", tmp_path / "without")
    before = slow_fermentation(without.case, without.planned).rows[0][1]
    assert slow.value - before.value > 0.008  # type: ignore[union-attr]


def test_the_log_is_fitted_from_it(tmp_path: Path) -> None:
    """A curve from 1.067 to 1.009: with the gravity before the sugar the first days do not fit."""
    readings = ((24, 1.055), (48, 1.030), (72, 1.016), (96, 1.012), (120, 1.010), (144, 1.010))
    log = ", ".join(
        f"{{at: 2026-03-{14 + hours // 24} 15:00, gravity: {sg:.3f}}}" for hours, sg in readings
    )
    text = SUGAR % ("white_sugar", "2 kg", "fermenter") + READ + ", at: 15:00}}\n"
    found = batch(text + f"fermentation: {{log: [{log}]}}\n", tmp_path)
    assert found.actuals["log_final_gravity"].value == pytest.approx(1.010, abs=0.002)


def test_a_beer_with_sugar_is_not_called_stuck(tmp_path: Path) -> None:
    """From 1.067 to 1.030 in two days is in order; from 1.050 it is slow."""
    text = SUGAR % ("white_sugar", "2 kg", "fermenter") + READ + ", at: 15:00}}\n"
    log = "fermentation: {log: [{at: 2026-03-15 15:00, gravity: 1.052}, "
    log += "{at: 2026-03-16 15:00, gravity: 1.030}]}\n"
    rules = {f.rule for f in findings_with(text + log, tmp_path / "house")}
    assert "fermentation-stuck" not in rules


def test_strength_aimed_at_is_of_all_extract(tmp_path: Path) -> None:
    plain = batch(SUGAR % ("white_sugar", "2 kg", "fermenter"), tmp_path / "a")
    whole = nominal(plain.planned["starting_gravity"])
    aim = f"plan: {{aims: {{original_gravity: {whole:.4f}}}, sugars: "
    aim += "[{sugar: white_sugar, amount: 2 kg, to: fermenter}]}\n"
    rules = {f.rule for f in findings_with(aim, tmp_path / "b")}
    assert "aim-missed" not in rules


def test_without_sugar_nothing_is_added(tmp_path: Path) -> None:
    found = batch("plan: {}", tmp_path)
    assert "starting_gravity" not in found.planned
    kettle = batch(SUGAR % ("white_sugar", "1 kg", "kettle"), tmp_path / "k")
    assert "starting_gravity" not in kettle.planned


def test_a_refractometer_knows_of_the_sugar(tmp_path: Path) -> None:
    """Brix of fermenting wort is read against all the extract there was."""
    log = "fermentation: {log: [{at: 2026-03-18 15:00, gravity: 8.0 Bx}]}\n"
    with_it = batch(SUGAR % ("white_sugar", "2 kg", "fermenter") + READ + "}}\n" + log,
                    tmp_path / "a")
    without = batch(READ + "}}\n" + log, tmp_path / "b")
    assert with_it.log[0].gravity is not None
    assert without.log[0].gravity is not None
    # More extract fermented, more alcohol, so less extract is left for the same refraction.
    assert with_it.log[0].gravity < without.log[0].gravity - 0.005
