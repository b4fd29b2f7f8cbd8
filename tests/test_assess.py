"""From readings to verdicts, departures and their effects, on the example batch."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.verdicts import Verdict
from reportgen.loading import load_archive
from reportgen.report.rows import fine_range

EXAMPLE = Path(__file__).parent / "example"


def assessed(folder: Path, text: str) -> Assessment:
    shutil.copytree(EXAMPLE, folder)
    path = folder / "2026" / "2026-01.yaml"
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found


def test_each_verdict(tmp_path: Path) -> None:
    # Mash temperature 66 ±1.0 by default; the thermometer is good to ±0.4 (and its step).
    for read, verdict in (
        ("66.2 C", Verdict.ON_PLAN),
        ("66.9 C", Verdict.TOO_CLOSE),
        ("67.2 C", Verdict.TOO_CLOSE),
        ("68.0 C", Verdict.OFF_PLAN),
        ("NOT RECORDED", Verdict.NOT_RECORDED),
    ):
        day = f"brew_day:\n  date: 2026-03-14\n  mash:\n    mash_temperature: {read}\n"
        found = assessed(tmp_path / read.replace(" ", ""), day)
        assert found.result("mash_temperature").verdict is verdict, read


def test_a_step_left_out_is_not_a_missing_reading(tmp_path: Path) -> None:
    day = "brew_day:\n  date: 2026-03-14\n  mash: {mash_ph: not done because no meter}\n"
    found = assessed(tmp_path / "a", day)
    assert found.result("mash_ph").verdict is None
    assert found.result("strike_temperature").verdict is Verdict.NOT_RECORDED


def test_nothing_is_missing_before_the_day(tmp_path: Path) -> None:
    found = assessed(tmp_path / "a", "")
    assert {r.verdict for r in found.results} == {None}


def test_tolerance_of_the_plan_goes_before_the_house(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    shutil.copytree(EXAMPLE, folder)
    house = folder / "brewery.yaml"
    house.write_text(house.read_text() + "tolerances: {mash_temperature: 2.0 K, mash_ph: 0.2}\n")
    plan = folder / "2026" / "2026-01.yaml"
    plan.write_text(plan.read_text() + "  tolerances: {mash_temperature: 3.0 K}\n")
    archive = load_archive(folder)
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    temperature, ph = found.result("mash_temperature").limits, found.result("mash_ph").limits
    strike = found.result("strike_temperature").limits
    assert temperature is not None and ph is not None and strike is not None
    assert (temperature.origin, temperature.low, temperature.high) == ("plan", 63.0, 69.0)
    assert (ph.origin, strike.origin) == ("house", "default")
    assert ph.high - ph.low == pytest.approx(0.4)


def test_the_range_on_the_sheet_is_narrowed_by_the_instrument(tmp_path: Path) -> None:
    result = assessed(tmp_path / "a", "").result("mash_temperature")
    assert result.limits is not None and result.sheet_range is not None
    u = result.sheet_range[0] - result.limits.low
    # 0.4 stated, 0.1 step: sqrt(0.4^2 + (2*.05/3^.5)^2)
    assert u == pytest.approx(0.404, abs=0.001)
    assert result.limits.high - result.sheet_range[1] == pytest.approx(u)


def test_a_hot_volume_and_a_warm_gravity_are_corrected(tmp_path: Path) -> None:
    found = assessed(
        tmp_path / "a",
        "brew_day:\n  date: 2026-03-14\n"
        "  boil: {cast_out_volume: {read: 43.7 L, sample: 98 C}}\n"
        "  pitch: {original_gravity: {read: 1.048, sample: 30 C}}\n",
    )
    # Water of 98 degC is 960.0 kg/m3, of 20 degC 998.2 (CoolProp): 43.7 x 0.9617 = 42.03 L.
    assert found.actuals["cast_out_volume"].value == pytest.approx(42.03, abs=0.02)
    # Density of 12 degP at 30 degC against 20: 0.0029 lower (ICUMSA); glass gives 0.0003 back.
    assert found.actuals["original_gravity"].value == pytest.approx(1.0507, abs=0.0003)


def test_effects_add_up_and_are_not_counted_twice(tmp_path: Path) -> None:
    found = assessed(
        tmp_path / "a",
        "brew_day:\n  date: 2026-03-14\n"
        "  run_off: {kettle_volume: 43 L, kettle_gravity: 1.0390}\n"
        "  pitch: {original_gravity: 1.0440}\n",
    )
    keys = [d.result.figure.key for d in found.departures]
    assert set(keys) == {"kettle_volume", "kettle_gravity", "original_gravity"}
    total = sum(
        effect.change
        for departure in found.departures
        for effect in departure.effects
        if effect.figure.key == "original_gravity"
    )
    planned = found.planned.expected["original_gravity"].value
    assert planned + total == pytest.approx(1.0440, abs=0.0002)


def test_an_effect_that_can_be_told_and_one_that_cannot(tmp_path: Path) -> None:
    found = assessed(
        tmp_path / "a",
        "brew_day:\n  date: 2026-03-14\n  run_off: {kettle_gravity: 1.0350}\n",
    )
    (departure,) = found.departures
    effects = {effect.figure.key: effect for effect in departure.effects}
    assert effects["original_gravity"].can_be_told
    assert effects["original_gravity"].change < -0.008
    assert effects["alcohol"].change < 0 and effects["alcohol"].can_be_told
    assert not effects["cast_out_calcium"].can_be_told
    assert departure.is_open and departure.severity == "minor"


def test_a_deviation_is_closed_by_the_review(tmp_path: Path) -> None:
    found = assessed(
        tmp_path / "a",
        "brew_day:\n  date: 2026-03-14\n  run_off: {kettle_gravity: 1.0350}\n"
        "review:\n  deviations:\n    - {figure: kettle_gravity, what: weak, severity: major,"
        " closed_by: AA, closed_on: 2026-04-01}\n",
    )
    (departure,) = found.departures
    assert (departure.severity, departure.is_open) == ("major", False)


def test_uncertainty_of_alcohol_comes_out_by_itself(tmp_path: Path) -> None:
    found = assessed(
        tmp_path / "a",
        "brew_day:\n  date: 2026-03-14\n  pitch: {original_gravity: 1.048}\n"
        "fermentation: {final_gravity: 1.012}\n",
    )
    alcohol = found.actuals["alcohol"]
    # ±0.001 (and the step) in both gravities is about ±0.19 to 0.21 % vol: propagation by hand.
    # With the ±0.15 % vol of the relation itself it is 0.24 to 0.26 % vol.
    assert alcohol.value == pytest.approx(0.0478, abs=0.0002)
    assert alcohol.uncertainty == pytest.approx(0.0025, abs=0.0002)


def test_refractometer_only(tmp_path: Path) -> None:
    found = assessed(
        tmp_path / "a",
        "brew_day:\n  date: 2026-03-14\n  pitch: {original_gravity: 12.6 Bx}\n"
        "fermentation: {final_gravity: 6.4 Bx}\n",
    )
    original, final = found.actuals["original_gravity"], found.actuals["final_gravity"]
    assert original.value == pytest.approx(1.0488, abs=0.0005)  # 12.6 / 1.04 = 12.12 degP
    assert final.value is not None and 1.007 < final.value < 1.015
    assert final.uncertainty >= 0.002


@pytest.mark.parametrize(
    ("read", "verdict"),
    [("0.80 bar", Verdict.ON_PLAN), ("0.58 bar", Verdict.OFF_PLAN), ("0.72 bar", Verdict.ON_PLAN)],
)
def test_the_pressure_is_judged_for_the_beer_temperature_read(
    tmp_path: Path, read: str, verdict: Verdict
) -> None:
    # 2.2 volumes of 1.977 g/L are 4.349 g/L. By hand, from the equation printed with
    # carbonation.gauge_pressure: 4.349 / (10 x 0.23958) - 1.00129 = 0.814 bar at 8 degC; at
    # 100 m the air has 1.00129 bar; exp(-10.73797 + 2617.25/281.15) = 0.23958, at 6 degC 0.25610:
    # 0.697 bar.
    # Limits ±0.15 bar, the gauge good to ±0.05: 0.58 bar would not be off the plan's 0.697 bar.
    found = assessed(
        tmp_path / "a",
        "packaging: {date: 2026-03-24, beer_temperature: 8.0 C, pressure: " + read + "}\n",
    )
    pressure = found.result("pressure")
    assert pressure.expected is not None and pressure.limits is not None
    assert pressure.expected.value == pytest.approx(0.814, abs=0.002)
    assert (pressure.limits.low, pressure.limits.high) == pytest.approx((0.664, 0.964), abs=0.002)
    assert pressure.verdict is verdict
    assert found.result("beer_temperature").verdict is not None
    # The sheet stands as it was planned.
    assert found.planned.expected["pressure"].value == pytest.approx(0.697, abs=0.002)
    low, high = fine_range(found, pressure.figure) or (0.0, 0.0)
    assert (low, high) == pytest.approx((0.597, 0.797), abs=0.003)


def test_the_pressure_is_the_planned_one_until_the_beer_temperature_is_read(
    tmp_path: Path,
) -> None:
    found = assessed(tmp_path / "a", "packaging: {date: 2026-03-24, pressure: 0.70 bar}\n")
    expected = found.result("pressure").expected
    assert expected is not None and expected.value == pytest.approx(0.697, abs=0.002)
