"""What the checks say has the house's units and the figure's decimals, and points at its cause."""

from __future__ import annotations

import shutil
from pathlib import Path

from houses import inside

from reportgen.assessment.assess import assess
from reportgen.checks.base import each_by_itself, names, run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Finding

EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"


def said(
    folder: Path,
    rule: str,
    day: str = "",
    plan: tuple[str, str] = ("", ""),
    units: str = "metric",
    house: tuple[str, str] = ("", ""),
) -> list[Finding]:
    """Return what one check says of the example with a change of its plan and a day added.

    With a change of the house it is what it says before that is told in one with its cause.
    """
    shutil.copytree(EXAMPLE, folder)
    for name, edits, end in (
        (RECORD, (plan,), day),
        ("brewery.yaml", (("units: metric", f"units: {units}"), house), ""),
    ):
        path = folder / name
        text = path.read_text(encoding="utf-8")
        for old, new in edits:
            assert old in text
            text = text.replace(old, new, 1) if old else text
        path.write_text(text + end, encoding="utf-8")
    archive = load_archive(folder, names())
    assert archive.findings == ()
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return [f for f in (each_by_itself if house[0] else run_checks)(found) if f.rule == rule]


WARM = "brew_day: {date: 2026-03-14, mash: {mash_temperature: 70 C}}\n"


def test_a_departure_is_told_in_the_units_of_the_house(tmp_path: Path) -> None:
    (one,) = said(tmp_path / "a", "off-plan-without-review", WARM)
    assert one.message == "Mash temperature: +4.0 K from the expected 66.0 °C"
    (one,) = said(tmp_path / "b", "off-plan-without-review", WARM, units="US")
    assert one.message == "Mash temperature: +7.2 °F from the expected 150.8 °F"


def test_weights_have_their_unit(tmp_path: Path) -> None:
    day = "brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7.7 kg}]}\n"
    (one,) = said(tmp_path / "a", "weighed-differs", day)
    assert one.message == "pale: 7.70 kg weighed, 7.00 kg planned" and one.expected == "7.00 kg"
    (one,) = said(tmp_path / "b", "weighed-differs", day, units="US")
    assert one.message == "pale: 16.98 lb weighed, 15.43 lb planned"


def test_a_coarse_instrument_is_told_at_the_tolerance(tmp_path: Path) -> None:
    plan = (
        "  fermenter_volume: 40 L",
        "  fermenter_volume: 40 L\n  tolerances: {mash_temperature: 0.3 K}",
    )
    (one,) = said(tmp_path / "a", "instrument-too-coarse", plan=plan)
    assert "the limits are 65.7 °C to 66.3 °C" in one.message and one.expected == "±0.15 K or finer"
    assert "mash_temperature" in one.line


def test_no_instrument_is_asked_to_read_to_nothing(tmp_path: Path) -> None:
    plan = (
        "  fermenter_volume: 40 L",
        "  fermenter_volume: 40 L\n  tolerances: {mash_temperature: 1 K}\n"
        "  critical_limits: {mash_temperature: {at_most: 65 C, because: starch}}",
    )
    (one,) = said(tmp_path / "a", "instrument-too-coarse", plan=plan)
    assert "finer" not in one.expected and one.expected.startswith("limits at least ")


def test_a_stopped_forecast_is_told_at_the_reading(tmp_path: Path) -> None:
    """17.2 °C is 63 °F: a slip of the unit, seen where it was made."""
    day = "\nbrew_day:\n  date: 2026-03-14\n  mash:\n    mash_temperature: 63 F\n"
    (one,) = said(tmp_path / "a", "forecast-stops", day)
    assert one.line == "    mash_temperature: 63 F"
    assert one.message == (
        "the ferment cannot be forecast in full: with the mash temperature of 17.2 °C, "
        "the original gravity would be 1.0000, outside 1.0010 to 1.2000"
    )
    (one,) = said(tmp_path / "b", "forecast-stops", day, units="US")
    assert "with the mash temperature of 63.0 °F, " in one.message


def test_a_boil_that_dries_the_kettle_is_told_where_it_comes_from(tmp_path: Path) -> None:
    """A kettle read too empty is the cause when the plan itself can be boiled."""
    house = ("evaporation: 4.5 L/h", "evaporation: 55 L/h")
    day = "\nbrew_day: {date: 2026-03-14, run_off: {kettle_volume: 47 L}}\n"
    (one,) = said(tmp_path / "a", "forecast-stops", day, house=house)
    assert "kettle_volume" in one.line and "dry after 51 min" in one.message
    plan = ("  run_off: {sparge: continuous", "  run_off: {sparge: none")
    (one,) = said(tmp_path / "b", "forecast-stops", plan=plan, house=house)
    assert "evaporation: 55 L/h" in one.line and "the boil takes 60 min" in one.message


def test_one_cause_is_one_finding(tmp_path: Path) -> None:
    day = (
        "brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}\n"
        "fermentation: {final_gravity: 1.060}\n"
    )
    assert said(tmp_path / "a", "forecast-stops", day) == []
    assert len(said(tmp_path / "b", "final-above-original", day)) == 1


def test_an_extrapolation_names_its_method_in_words_at_the_input(tmp_path: Path) -> None:
    plan = ("malt_temperature: 18 C", "malt_temperature: 45 C")
    (one,) = said(tmp_path / "a", "extrapolation", plan=plan)
    assert one.line.strip() == "malt_temperature: 45 C"
    assert one.message == (
        "malt temperature of 45.0 °C is beyond the trusted range of: Temperature of the liquor "
        "that brings grist and tun to the mash temperature"
    )
    assert one.expected == "0.0 °C to 40.0 °C"
    (one,) = said(tmp_path / "b", "extrapolation", plan=plan, units="US")
    assert "of 113.0 °F" in one.message and one.expected == "32.0 °F to 104.0 °F"


def test_of_two_times_alike_the_one_of_the_hop_is_extrapolated(tmp_path: Path) -> None:
    plan = (
        "    time: 60 min\n    hops:\n      - {hop: goldings, amount: 60 g, time: 60 min}",
        "    time: 180 min\n    hops:\n      - {hop: goldings, amount: 60 g, time: 180 min}",
    )
    (one,) = said(tmp_path / "a", "extrapolation", plan=plan)
    assert one.line.strip() == "- {hop: goldings, amount: 60 g, time: 180 min}"


def test_a_number_that_follows_from_others_is_told_where_it_comes_from(tmp_path: Path) -> None:
    """A beer of 1.02, and more gypsum than any mash pH was measured with."""
    (one,) = said(tmp_path / "a", "extrapolation", plan=("amount: 7.0 kg", "amount: 3.0 kg"))
    assert one.line.strip() == "- {malt: pale, amount: 3.0 kg}" and "gravity of 1.02" in one.message
    salt = "- {salt: gypsum, amount: 60 g, to: mash}"
    (one,) = said(tmp_path / "b", "extrapolation", plan=(salt.replace("60", "5"), salt))
    assert one.line.strip() == salt and one.message.startswith("calcium of ")


def test_a_house_that_names_no_units_is_metric(tmp_path: Path) -> None:
    plan = ("cool: {pitch_temperature: 18 C", "cool: {pitch_temperature: 29 C")
    (one,) = said(tmp_path / "a", "pitching-warm", plan=plan, house=("units: metric", ""))
    assert one.message == "pitching at 29.0 °C"


def test_temperatures_of_the_yeast_are_told_in_the_units_of_the_house(tmp_path: Path) -> None:
    """29 °C is 84.2 °F, 26 °C is 78.8 °F."""
    day = "\nbrew_day: {date: 2026-03-14, pitch: {pitch_temperature: 29 C}}\n"
    (one,) = said(tmp_path / "a", "pitching-warm", day, units="US")
    assert one.message == "pitched at 84.2 °F" and "°F for this yeast" in one.expected
    asked = "fermentation: {temperature: 19 C, highest_temperature: 20 C"
    plan = (asked, asked.replace("19 C", "26 C").replace("20 C", "26 C"))
    one, *_ = said(tmp_path / "b", "ferment-outside-yeast-range", plan=plan, units="US")
    assert one.message == "fermentation at 78.8 °F" and one.expected.endswith("°F")


def test_why_a_forecast_stops_is_told_in_the_units_of_the_house(tmp_path: Path) -> None:
    """A fermenter that keeps 45 L of 40 L: 11.89 of 10.57 gallons of 3.785 411 784 L."""
    house = ("fermenter: {volume: 50 L, loss: 1.5 L", "fermenter: {volume: 50 L, loss: 45 L")
    in_units = {"metric": ("45.0 L", "40.0 L"), "US": ("11.89 US gal", "10.57 US gal")}
    for units, (kept, held) in in_units.items():
        (one,) = said(tmp_path / units, "forecast-stops", units=units, house=house)
        assert f"the fermenter keeps {kept}" in one.message and held in one.message
        told = inside("figures", cwd=tmp_path / units)
        assert told.returncode == 1 and f"keeps {kept}" in told.stderr
        assert inside("ledger", cwd=tmp_path / units).returncode == 0
        page = tmp_path / units / "build/ledger/batch/2026-01.html"
        assert f"keeps {kept}" in page.read_text(encoding="utf-8").replace("\u202f", " ")


def test_a_tolerance_and_a_critical_limit_that_do_not_meet_are_told_as_such(
    tmp_path: Path,
) -> None:
    """Never as a tolerance below nought."""
    plan = (
        "  fermenter_volume: 40 L",
        "  fermenter_volume: 40 L\n  tolerances: {mash_temperature: 1 K}\n"
        "  critical_limits: {mash_temperature: {at_most: 64.5 C, because: starch}}",
    )
    (one,) = said(tmp_path / "a", "instrument-too-coarse", plan=plan)
    assert one.message == (
        "Mash temperature: the tolerance and the critical limit have no value in common: at least"
        " 65.0 °C and at most 64.5 °C"
    )
    plan = (plan[0], plan[1].replace("64.5 C", "65.2 C"))
    (one,) = said(tmp_path / "b", "instrument-too-coarse", plan=plan)
    assert one.message.endswith("the limits are 65.0 °C to 65.2 °C")
    (reach,) = said(tmp_path / "c", "critical-limit-out-of-reach", plan=plan)
    assert "the forecast 66.0 °C, read to ±" in reach.message


def test_a_mash_that_is_too_sour_is_never_told_to_take_acid(tmp_path: Path) -> None:
    acid = "- {acid: lactic_80, amount: 3 mL, to: mash}"
    (one,) = said(tmp_path / "a", "mash-ph-off", plan=(acid, acid.replace("3 mL", "15 mL")))
    assert float(one.message.split()[2]) < 5.2
    assert one.remedy.startswith("take less acid") and "add acid" not in one.remedy
