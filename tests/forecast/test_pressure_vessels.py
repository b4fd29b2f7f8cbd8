"""A pressure is judged for the vessel it is in, at its warmest, and by no other vessel's rating."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from checked import archive_with, findings_with

from reportgen.assessment.assess import assess
from reportgen.checks.base import all_checks
from reportgen.record.finding import Finding, Severity

KEG = "brewery: {containers: {keg_19: {is: keg, volume: 19 L, pressure_rating: 4 bar}}}\n"
PACKED = "brew_day: {date: 2026-03-14}\n"
OURS = {"pressure-over-limit", "pressure-in-another-unit", "pressure-limit-odd"}


def ours(patch: str, folder: Path, units: str = "metric") -> list[Finding]:
    return [f for f in findings_with(patch, folder / "house", units) if f.rule in OURS]


def test_the_fermenters_rating_says_nothing_of_a_keg(tmp_path: Path) -> None:
    """The fermenter is rated 1.0 bar; a keg of 2.2 volumes has 1.0 bar when gassed at 15 degC."""
    plan = "plan: {packaging: {into: keg, carbonation: 2.2 vol, beer_temperature: 15 C}}"
    assert ours(plan, tmp_path) == []


def test_a_strong_fermenter_does_not_vouch_for_a_keg(tmp_path: Path) -> None:
    strong = "brewery: {kits: {main: {fermenter: {pressure_rating: 9 bar}}}}\n"
    plan = "plan: {packaging: {into: keg, carbonation: 3.2 vol, beer_temperature: 18 C}}"
    (found,) = ours(strong + plan, tmp_path)
    assert "rating unknown" in found.message
    assert "9.0" not in found.message + found.expected


def test_a_strong_keg_does_not_vouch_for_a_fermenter(tmp_path: Path) -> None:
    house = KEG.replace("}}}", "}}, kits: {main: {fermenter: {pressure_rating: 0.5 bar}}}}")
    (found,) = ours(house + "plan: {fermentation: {pressure: 0.8 bar}}", tmp_path)
    assert found.severity is Severity.CRITICAL
    assert "fermenter" in found.message
    assert "0.50 bar" in found.expected


def test_a_fermenter_that_ferments_under_pressure_needs_a_rating(tmp_path: Path) -> None:
    house = 'brewery: {kits: {main: {fermenter: {pressure_rating: ""}}}}\n'
    (found,) = ours(house + "plan: {fermentation: {pressure: 0.3 bar}}", tmp_path)
    assert "rating unknown" in found.message
    assert "some take no pressure" in found.expected


def test_an_open_fermenter_is_not_judged(tmp_path: Path) -> None:
    house = 'brewery: {kits: {main: {fermenter: {pressure_rating: ""}}}}\n'
    assert ours(house + "plan: {packaging: {into: keg, carbonation: 2.2 vol}}", tmp_path) == []


@pytest.mark.parametrize("kind", ["keg", "bottle", "cask"])
@pytest.mark.parametrize("other", ["keg", "bottle", "cask"])
def test_a_container_of_another_kind_lends_no_rating(kind: str, other: str, tmp_path: Path) -> None:
    house = f"brewery: {{containers: {{one: {{is: {other}, pressure_rating: 1 bar}}}}}}\n"
    found = ours(house + f"plan: {{packaging: {{into: {kind}, carbonation: 2.0 vol}}}}", tmp_path)
    assert bool([f for f in found if "rating" in f.expected]) == (kind == other)


TWO = (
    "brewery: {containers: {small: {is: keg, volume: 10 L, pressure_rating: 2 bar},"
    " large: {is: keg, volume: 30 L, pressure_rating: 9 bar}}}\n"
)
LIVELY = "plan: {packaging: {into: keg, carbonation: 2.6 vol, highest_temperature: 30 C%s}}\n"


def test_of_several_the_one_named_counts(tmp_path: Path) -> None:
    small, large, unsaid = (
        ours(TWO + LIVELY % more, tmp_path / str(number))
        for number, more in enumerate((", container: small", ", container: large", ""))
    )
    assert [f.severity for f in small] == [Severity.CRITICAL]
    assert large == []
    assert "does not say which" in unsaid[0].message


def test_the_size_written_tells_which_it_was(tmp_path: Path) -> None:
    packed = PACKED + "packaging: {date: 2026-03-24, containers: 4, container_size: %s}\n"
    plan = LIVELY % ""
    assert [f.severity for f in ours(TWO + plan + packed % "10 L", tmp_path / "a")] == [
        Severity.CRITICAL
    ]
    assert ours(TWO + plan + packed % "30 L", tmp_path / "b") == []
    (found,) = ours(TWO + plan + packed % "50 L", tmp_path / "c")
    assert "no keg of this size" in found.message


def test_the_packaging_overrules_the_plan(tmp_path: Path) -> None:
    packed = PACKED + "packaging: {date: 2026-03-24, container: small}\n"
    (found,) = ours(TWO + LIVELY % ", container: large" + packed, tmp_path)
    assert "small" in found.message


def test_a_name_that_is_not_there_is_one_finding(tmp_path: Path) -> None:
    with pytest.raises(AssertionError, match="unknown-name"):
        findings_with(LIVELY % ", container: huge", tmp_path / "house")


@pytest.mark.parametrize(
    ("gas", "warmest", "bar"),
    [
        # force carbonation chart, 1990s, as in science/cases/carbonation.yaml: psi at 60 degF
        ("2.2 vol", "60 F", 18.8 * 0.0689476),
        ("2.5 vol", "60 F", 23.1 * 0.0689476),
        ("3.0 vol", "60 F", 30.2 * 0.0689476),
        # table of g/L by head pressure and temperature of the beer, published on one sheet
        ("3.3 g/L", "20 C", 1.0),
        ("4.2 g/L", "12 C", 1.0),
        ("2.8 g/L", "25 C", 1.0),
    ],
)
def test_the_warmest_counts(gas: str, warmest: str, bar: float, tmp_path: Path) -> None:
    plan = f"plan: {{packaging: {{into: keg, carbonation: {gas}, beer_temperature: 2 C, "
    plan += f"highest_temperature: {warmest}}}}}\n"
    share = 0.04 * (bar + 1.013)
    for rating, is_over in ((bar - 1.2 * share, True), (bar + 2.2 * share, False)):
        house = f"brewery: {{containers: {{k: {{is: keg, pressure_rating: {rating:.3f} bar}}}}}}\n"
        assert bool(ours(house + plan, tmp_path / str(is_over))) == is_over


def test_too_close_to_the_rating_is_said(tmp_path: Path) -> None:
    """2.2 volumes at 30 degC are 2.57 bar at 100 m; the method errs by 4 % of 3.6 bar."""
    house = "brewery: {containers: {k: {is: keg, pressure_rating: 2.65 bar}}}\n"
    (found,) = ours(house + "plan: {packaging: {carbonation: 2.2 vol}}", tmp_path)
    assert found.severity is Severity.MAJOR
    assert "too close" in found.message


BOTTLE = "brewery: {containers: {b: {is: bottle, volume: 0.5 L, pressure_rating: %s}}}\n"


def _bottled(sugar: str, final: str = "1.011", rating: str = "4 bar") -> str:
    return (
        BOTTLE % rating
        + "plan: {packaging: {into: bottle, carbonation: 2.4 vol}}\n"
        + "brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}\n"
        + f"fermentation: {{final_gravity: {final}}}\n"
        + f"packaging: {{date: 2026-03-24, packaged_volume: 38 L, priming_sugar: {sugar}}}\n"
    )


def test_bottles_as_planned_are_silent(tmp_path: Path) -> None:
    assert ours(_bottled("225 g"), tmp_path) == []


def test_twice_the_sugar_is_over_the_bottles_rating(tmp_path: Path) -> None:
    """450 g in 38 L bring 3.08 volumes (0.514 g of gas a gram), on 0.85 dissolved: 5.4 bar."""
    said = findings_with(_bottled("450 g"), tmp_path / "house")
    (found,) = [f for f in said if " bar in the bottle" in f.message]
    assert found.rule == "too-much-priming-sugar"
    assert found.severity is Severity.CRITICAL
    assert "5.3" in found.message or "5.4" in found.message
    assert "vent" in found.remedy


def test_extract_that_can_still_ferment_counts_for_bottles(tmp_path: Path) -> None:
    (found,) = ours(_bottled("225 g", final="1.019"), tmp_path)
    assert found.severity is Severity.CRITICAL


def test_gas_left_by_a_valve_counts_when_priming(tmp_path: Path) -> None:
    """A beer that fermented under 0.8 bar holds nearly twice the gas: it needs less sugar."""
    from reportgen.science.carbonation import priming_sugar

    open_, closed = (priming_sugar(2.4, 20.0, 38.0, pressure=p) for p in (0.0, 0.8))
    # Henry's law: gas is in proportion to the absolute pressure (0.85 volumes at 1.013 bar).
    assert (open_ - closed) * 0.5143 / 1.977 / 38.0 == pytest.approx(0.85 * 0.8 / 1.013, rel=0.03)


SLIPS: list[tuple[str, str]] = [
    ("13 bar", "13 psi = 0.90 bar"),
    ("11 bar", "11 psi = 0.76 bar"),
    ("13 MPa", "13 psi = 0.90 bar"),
    ("80 bar", "80 kPa = 0.80 bar"),
    ("800 psi", "800 mbar = 0.80 bar"),
    ("80 psi", "80 kPa = 0.80 bar"),
]


@pytest.mark.parametrize(("typed", "meant"), SLIPS)
@pytest.mark.parametrize("house", ["", KEG], ids=["unknown", "rated"])
def test_a_unit_mistaken_is_the_loudest_of_all(
    typed: str, meant: str, house: str, tmp_path: Path
) -> None:
    text = house + PACKED + "plan: {packaging: {carbonation: 2.2 vol, beer_temperature: 6 C}}\n" + (
        "fermentation: {log: [{at: 2026-03-17 18:00, gravity: 1.020}]}\n"
        f"packaging: {{date: 2026-03-18, pressure: {typed}, beer_temperature: 6 C}}\n"
    )
    found = findings_with(text, tmp_path / "house")
    first = sorted(found)[0]
    assert first.rule == "pressure-over-limit"
    assert first.severity is Severity.CRITICAL
    assert meant in first.remedy
    assert ("rating unknown" in first.message) == (not house)
    assert first.line.strip().startswith("pressure:") or typed in first.line


@pytest.mark.parametrize("kind", ["cask", "bottle"])
def test_a_gauge_on_a_cask_or_bottle_is_judged_as_well(kind: str, tmp_path: Path) -> None:
    text = PACKED + f"plan: {{packaging: {{into: {kind}, carbonation: 1.5 vol}}}}\n"
    (found,) = ours(text + "packaging: {date: 2026-03-24, pressure: 13 bar}\n", tmp_path)
    assert found.severity is Severity.CRITICAL
    assert kind in found.message
    assert "13 psi = 0.90 bar" in found.remedy


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("13 kPa", "13 psi"), ("0.9 psi", "0.9 bar"), ("1.8 bar", "absolute"), ("90 mbar", "90 kPa")],
)
def test_a_unit_mistaken_that_bursts_nothing_is_a_hint(
    typed: str, meant: str, tmp_path: Path
) -> None:
    text = PACKED + "plan: {packaging: {carbonation: 2.3 vol, beer_temperature: 6 C}}\n"
    text += f"packaging: {{date: 2026-03-24, beer_temperature: 6 C, pressure: {typed}}}\n"
    said = findings_with(KEG + text, tmp_path / "house")
    (found,) = [f for f in said if f.line.strip() == f"pressure: {typed}"]
    # True, 1.8 bar in the cold would be too much in the warm.
    assert found.severity is (Severity.CRITICAL if meant == "absolute" else Severity.MAJOR)
    assert meant in found.remedy


@pytest.mark.parametrize("read", ["0.75 bar", "11 psi", "75 kPa", "0.7 bar", "0.85 bar", "0 bar"])
def test_sound_readings_are_silent(read: str, tmp_path: Path) -> None:
    text = KEG + PACKED + "plan: {packaging: {carbonation: 2.2 vol, beer_temperature: 6 C}}\n"
    text += f"packaging: {{date: 2026-03-24, beer_temperature: 6 C, pressure: {read}}}\n"
    assert ours(text, tmp_path) == []


@pytest.mark.parametrize(
    "wrong",
    [
        "containers: {k: {is: keg, pressure_rating: 130 bar}}",
        "containers: {k: {is: bottle, pressure_rating: 58 bar}}",
        "containers: {k: {is: cask, pressure_rating: 30 bar}}",
        "kits: {main: {fermenter: {pressure_rating: 15 bar}}}",
    ],
)
def test_a_rating_that_cannot_be_is_named_where_it_stands(wrong: str, tmp_path: Path) -> None:
    found = ours(f"brewery: {{{wrong}}}", tmp_path)
    assert [f.position.file for f in found] == ["brewery.yaml"]
    assert found[0].severity is Severity.CRITICAL


def test_a_rating_that_cannot_be_protects_nobody(tmp_path: Path) -> None:
    house = "brewery: {containers: {k: {is: keg, pressure_rating: 130 bar}}}\n"
    text = house + PACKED + "packaging: {date: 2026-03-24, pressure: 13 bar}\n"
    over = [f for f in ours(text, tmp_path) if f.rule == "pressure-over-limit"]
    assert over[0].severity is Severity.CRITICAL
    assert "cannot be 130 bar" in over[0].message


@pytest.mark.parametrize("limit", ["0 bar", "-1 bar"])
def test_a_rating_of_nothing_is_refused(limit: str, tmp_path: Path) -> None:
    with pytest.raises(AssertionError, match="pressure_rating"):
        ours(f"brewery: {{containers: {{k: {{is: keg, pressure_rating: {limit}}}}}}}", tmp_path)


def test_a_planned_limit_above_the_rating_is_said(tmp_path: Path) -> None:
    plan = "plan: {critical_limits: {pressure: {at_most: 15 bar, because: kegs}}}"
    (found,) = ours(KEG + plan, tmp_path)
    assert found.rule == "pressure-limit-odd"
    assert "15 psi = 1.03 bar" in found.remedy


@pytest.mark.parametrize("setting", ["13 bar", "12 MPa"])
def test_a_valve_setting_in_another_unit(setting: str, tmp_path: Path) -> None:
    found = ours(f"plan: {{fermentation: {{pressure: {setting}}}}}", tmp_path)
    assert found[0].severity is Severity.CRITICAL
    assert "psi = " in found[0].remedy


def test_a_gauge_on_the_fermenter_is_read_against_its_own_rating(tmp_path: Path) -> None:
    text = (
        "plan: {fermentation: {pressure: 0.8 bar}}\nbrew_day: {date: 2026-03-14}\n"
        "fermentation: {log: [{at: 2026-03-16 18:00, gravity: 1.020, pressure: 12 bar}]}\n"
    )
    (found,) = ours(text, tmp_path)
    assert found.severity is Severity.CRITICAL
    assert "12 psi = 0.83 bar" in found.remedy


@pytest.mark.parametrize(
    "odd",
    [
        "plan: {packaging: {highest_temperature: 120 C}}",
        "plan: {packaging: {highest_temperature: -20 C}}",
        "plan: {packaging: {carbonation: 19 vol}}",
        "plan: {packaging: {into: bottle, carbonation: 0.1 vol}}",
        "plan: {fermentation: {pressure: 90 bar}, packaging: {into: bottle}}",
        PACKED + "packaging: {date: 2026-03-24, pressure: 390 bar, beer_temperature: 95 C}",
        PACKED + "plan: {packaging: {into: cask}}\n"
        "packaging: {date: 2026-03-24, packaged_volume: 1 mL, priming_sugar: 90 kg}",
    ],
)
def test_nonsense_ends_in_findings(odd: str, tmp_path: Path) -> None:
    assert isinstance(findings_with(odd, tmp_path / "house"), list)


def test_the_checks_are_there() -> None:
    assert set(all_checks()) >= OURS


def packaging(text: str, folder: Path) -> Any:
    from reportgen.assessment.assess import assess
    from reportgen.loading import load_archive
    from reportgen.report.packaging import packaging_sheet

    findings_with(text, folder)
    archive = load_archive(folder)
    found = assess(archive, next(iter(archive.batches.values())))
    assert found is not None
    return packaging_sheet(found, "A4")


def test_the_sheet_prints_the_containers_own_rating(tmp_path: Path) -> None:
    view = packaging(KEG, tmp_path / "house")
    assert {f.label: f.value for f in view.facts}["Rating"].replace("\u202f", " ") == "4.0 bar"
    assert not any("unknown" in item for item in view.sides[0].hold_point.items)


@pytest.mark.parametrize("kind", ["keg", "cask", "bottle"])
def test_the_sheet_has_a_blank_for_a_rating_that_is_unknown(kind: str, tmp_path: Path) -> None:
    view = packaging(f"plan: {{packaging: {{into: {kind}}}}}", tmp_path / "house")
    assert {f.label: f.value for f in view.facts}["Rating"] == "unknown"
    items = view.sides[0].hold_point.items
    (blank,) = (item for item in items if "ating unknown: " in item)
    assert "____" in blank
    assert not any("1.0" in item for item in items), "that is the fermenter's"


@pytest.mark.parametrize("limit", ["1.0 bar", '""'])
def test_the_cellar_sheet_has_the_fermenters_rating_when_it_is_closed(
    limit: str, tmp_path: Path
) -> None:
    from reportgen.assessment.assess import assess
    from reportgen.loading import load_archive
    from reportgen.report.cellar import cellar_sheet

    house = f"brewery: {{kits: {{main: {{fermenter: {{pressure_rating: {limit}}}}}}}}}\n"
    findings_with(house + "plan: {fermentation: {pressure: 0.5 bar}}", tmp_path / "house")
    archive = load_archive(tmp_path / "house")
    found = assess(archive, next(iter(archive.batches.values())))
    assert found is not None
    view = cellar_sheet(found, "A4")
    facts = {fact.label: fact.value.replace("\u202f", " ") for fact in view.facts}
    assert facts["Valve set to"] == "0.50 bar"
    rating = facts.get("Rating", "____")
    assert rating == ("1.0 bar" if limit == "1.0 bar" else "____")
    assert ("Rating on plate" in facts) is (limit != "1.0 bar"), "never another vessel's"
    assert "pressure" in [caution.key for caution in view.cautions]


def test_a_gauge_that_counts_from_a_vacuum_starts_from_the_air_of_the_place(tmp_path: Path) -> None:
    high = "brewery: {altitude: 1600 m}\nplan: {packaging: {into: keg, carbonation: 2.2 vol}}\n"
    read = "packaging: {date: 2026-03-24, beer_temperature: 8 C, pressure: 1.82 bar}\n"
    said = " ".join(f.remedy for f in ours(high + PACKED + read, tmp_path))
    assert "0.84 bar with no pressure on it" in said


def test_one_of_several_is_judged_by_the_weakest_it_may_be(tmp_path: Path) -> None:
    """Two kegs are listed and none is named: 2.2 volumes at 30 degC are 2.6 bar in one of 1 bar."""
    kegs = "{strong: {is: keg, pressure_rating: 7 bar}, weak: {is: keg, pressure_rating: %s}}"
    plan = "plan: {packaging: {into: keg, carbonation: 2.2 vol, beer_temperature: 6 C}}"
    for rating, is_told in (("1 bar", True), ("4 bar", False)):
        text = f"brewery: {{containers: {kegs % rating}}}\n{plan}"
        found = [f for f in findings_with(text, tmp_path / rating[:1])
                 if f.rule == "pressure-over-limit"]
        assert bool(found) == is_told
        assert all("at most 1.00 bar" in str(f.expected) for f in found)
        assert all(f.severity == Severity.MAJOR and "`container`" in f.remedy for f in found)


def test_several_that_all_bear_it_need_no_name(tmp_path: Path) -> None:
    """Both plates say enough for 2.6 bar, whichever is filled, though some kegs take only 3 bar."""
    kegs = "{strong: {is: keg, pressure_rating: 9 bar}, other: {is: keg, pressure_rating: 4.1 bar}}"
    lively = "into: keg, carbonation: 2.7 vol, beer_temperature: 6 C, highest_temperature: 30 C"
    plan = f"plan: {{packaging: {{{lively}}}}}"
    for limits, is_told in ((kegs, False), (kegs.replace(", pressure_rating: 4.1 bar", ""), True)):
        text = f"brewery: {{containers: {limits}}}\n{plan}"
        found = [f.rule for f in findings_with(text, tmp_path / str(is_told))]
        assert ("pressure-over-limit" in found) == is_told


def test_what_bottles_were_primed_with_is_their_carbonation(tmp_path: Path) -> None:
    """4 g of sucrose in a litre make 2.06 g of CO2 (0.515 by weight), 1.04 vol; beside them beer of
    20 degC holds 0.86 vol (priming tables of the trade)."""
    plan = "plan: {fermentation: {temperature: 20 C, highest_temperature: 20 C}, packaging: " + (
        "{into: bottle, carbonation: 2.4 vol, priming_sugar: sucrose}}\n"
    )
    day = PACKED + "packaging: {date: 2026-03-24, packaged_volume: 40 L, priming_sugar: 160 g}\n"
    archive = archive_with(plan + day, tmp_path / "a")
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    gas = found.actuals["carbonation"]
    assert gas.value == pytest.approx(0.86 + 1.04, abs=0.05) and 0.03 < gas.uncertainty < 0.4


def test_fruit_after_the_steady_readings_begins_it_anew(tmp_path: Path) -> None:
    log = "{at: 2026-03-20 18:00, gravity: 1.010}, {at: 2026-03-22 18:00, gravity: 1.010}"
    later = ", {at: 2026-04-05 18:00, gravity: 1.010}, {at: 2026-04-07 18:00, gravity: 1.010}"
    fruit = "[{what: white_sugar, amount: 1 kg, to: fermenter, at: 2026-03-23 18:00}]"
    for readings, day, is_told in ((log, "2026-03-24", True), (log + later, "2026-04-08", False)):
        text = PACKED + f"fermentation: {{added: {fruit}, log: [{readings}]}}\n" + (
            f"packaging: {{date: {day}}}\n"
        )
        found = [f for f in findings_with(text, tmp_path / day) if f.rule == "sealed-before-steady"]
        assert bool(found) == is_told
        assert all("2026-03-23 18:00" in f.message for f in found)
