"""From readings to verdicts, departures and their effects, on the example batch."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.causes import lacking
from reportgen.assessment.explained import explain
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


WEAK_KETTLE = (
    "brew_day:\n  date: 2026-03-14\n"
    "  run_off: {kettle_volume: 43 L, kettle_gravity: 1.0390}\n"
    "  boil: {cast_out_gravity: 1.0435}\n"
    "  pitch: {original_gravity: 1.0440}\n"
)


def test_departures_stand_without_a_replay(tmp_path: Path) -> None:
    found = assessed(tmp_path / "a", WEAK_KETTLE)
    assert {d.result.figure.key for d in found.departures} == {
        "kettle_volume", "kettle_gravity", "original_gravity", "cast_out_gravity",
    }
    assert all(d.is_open and d.review is None for d in found.departures)


def test_what_is_off_because_something_before_it_was_follows_from_that(tmp_path: Path) -> None:
    explained = explain(assessed(tmp_path / "a", WEAK_KETTLE))
    assert explained.root("original_gravity") == "kettle_gravity"
    assert explained.root("cast_out_gravity") == "kettle_gravity"
    assert explained.root("kettle_gravity") == "kettle_gravity", "nothing before explains it"


def test_a_reading_off_for_its_own_reason_follows_from_nothing(tmp_path: Path) -> None:
    found = assessed(
        tmp_path / "a",
        "brew_day:\n  date: 2026-03-14\n  run_off: {kettle_gravity: 1.0390}\n"
        "  pitch: {original_gravity: 1.0600}\n",
    )
    explained = explain(found)
    assert explained.root("original_gravity") == "original_gravity"


def test_one_cause_names_several_figures(tmp_path: Path) -> None:
    found = assessed(
        tmp_path / "a",
        WEAK_KETTLE + "review:\n  deviations:\n"
        "    - {figures: [kettle_gravity, cast_out_gravity], what: weak, cause: coarse crush}\n"
        "    - {figure: kettle_volume, what: short}\n",
    )
    open_ = {d.result.figure.key: d.is_open for d in found.departures}
    # The first has all that a minor deviation needs; the second lacks its cause.
    assert open_ == {
        "kettle_gravity": False, "cast_out_gravity": False, "kettle_volume": True,
        "original_gravity": True,
    }


@pytest.mark.parametrize(
    ("severity", "written", "lacks"),
    [
        ("note", "", ""),
        ("minor", "", "cause"),
        ("minor", "cause_certainty: unknown", ""),
        ("major", "cause: a leak", "correction"),
        ("major", "cause: a leak, correction: topped up", ""),
        ("critical", "cause: a leak, correction: topped up",
         "cause_certainty effect corrective_action other_batches disposition closed_by closed_on"),
    ],
)  # fmt: skip
def test_what_must_be_written_grows_with_severity(
    tmp_path: Path, severity: str, written: str, lacks: str
) -> None:
    more = f", {written}" if written else ""
    found = assessed(
        tmp_path / "a",
        WEAK_KETTLE + "review:\n  deviations:\n"
        f"    - {{figure: kettle_gravity, what: weak, severity: {severity}{more}}}\n",
    )
    review = found.record.review
    assert review is not None
    assert " ".join(lacking(review.deviations[0], severity)) == lacks


@pytest.mark.parametrize(
    ("rest", "is_open"),
    [
        ("", True),
        ("  disposition: release\n  decided_on: 2026-04-01\n", False),
        ("  disposition: hold\n  decided_on: 2026-04-01\n", True),
    ],
)
def test_a_major_deviation_is_closed_with_the_decision_over_the_batch(
    tmp_path: Path, rest: str, is_open: bool
) -> None:
    found = assessed(
        tmp_path / "a",
        WEAK_KETTLE + "review:\n  deviations:\n"
        "    - {figure: original_gravity, what: weak, severity: major, cause: a leak,"
        " correction: none}\n" + rest,
    )
    departure = next(d for d in found.departures if d.result.figure.key == "original_gravity")
    assert departure.is_open is is_open


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
    # The example's refractometer has a wort factor of its own; without one both are less sure.
    folder = tmp_path / "b"
    shutil.copytree(tmp_path / "a", folder)
    house = folder / "brewery.yaml"
    house.write_text(house.read_text(encoding="utf-8").replace(", wort_factor: 1.04", ""))
    archive = load_archive(folder)
    usual = assess(archive, archive.batches["2026-01"])
    assert usual is not None and archive.findings == ()
    assert usual.actuals["original_gravity"].uncertainty > 1.5 * original.uncertainty
    assert usual.actuals["final_gravity"].uncertainty > final.uncertainty >= 0.002


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
