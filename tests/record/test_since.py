"""Every figure of the brewery has its day, and what comes later never changes what was."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.checks.base import run_checks
from reportgen.loading import load_archive
from reportgen.record.finding import Finding
from reportgen.report.documents import HTML
from reportgen.report.documents import RECORD as RECORD_PAGE
from reportgen.report.record_sections.lots import used_lines
from reportgen.science.number import nominal

EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"
DAY = """
issued: {plan: 00000000, on: 2026-03-10}
brew_day:
  date: 2026-03-14
  mash: {mash_temperature: 66.4 C}
  run_off: {kettle_volume: 46 L, kettle_gravity: 1.043}
  boil: {started: 12:00, ended: 13:00, cast_out_volume: 41.5 L}
  pitch: {fermenter_volume: 39 L, original_gravity: 1.0475}
"""
KIT = "  main:\n"


def house(brewery: dict[str, str], stock: dict[str, str] | None = None) -> dict[str, bytes]:
    """Return the example's files with replaced lines, and its record brewed."""
    given = {RECORD: ((EXAMPLE / RECORD).read_text() + DAY).encode()}
    for name, changes in (("brewery.yaml", brewery), ("stock.yaml", stock or {})):
        text = (EXAMPLE / name).read_text(encoding="utf-8")
        for old, new in changes.items():
            assert old in text, old
            text = text.replace(old, new, 1)
        given[name] = text.encode()
    return given


def batch(files: dict[str, bytes]) -> tuple[Assessment, list[Finding]]:
    archive = load_archive(EXAMPLE, given=files)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found, [*archive.findings, *run_checks(found)]


def since(day: str, what: str) -> str:
    return f"    since:\n      - {{from: {day}, {what}, because: a test}}\n"


@pytest.mark.parametrize(
    "day, counts", [("2026-01-01", True), ("2026-03-10", True), ("2026-03-11", False)]
)
def test_a_batch_goes_by_what_held_when_its_sheet_was_issued(day: str, counts: bool) -> None:
    plain, _ = batch(house({}))
    changed, _ = batch(house({KIT: KIT + since(day, "kettle: {evaporation: 6 L/h}")}))
    same = nominal(changed.planned["cast_out_volume"]) == nominal(plain.planned["cast_out_volume"])
    moved = changed.case.evaporation.nominal_value == 6
    assert moved is counts and (same is not counts or changed.case.sparge_liquor is None)


def test_without_a_sheet_the_brew_day_counts_and_a_plan_goes_by_the_latest() -> None:
    files = house({KIT: KIT + since("2026-03-12", "conversion: 80 %")})
    issued = files[RECORD]
    assert batch(files)[0].case.conversion.nominal_value != pytest.approx(0.80)
    files[RECORD] = issued.replace(b"issued: {plan: 00000000, on: 2026-03-10}\n", b"")
    assert batch(files)[0].case.conversion.nominal_value == pytest.approx(0.80)
    files[RECORD] = (EXAMPLE / RECORD).read_bytes()
    later = {**files, **house({KIT: KIT + since("2027-03-12", "conversion: 80 %")})}
    later[RECORD] = files[RECORD]
    assert batch(later)[0].case.conversion.nominal_value == pytest.approx(0.80)


LATER = {
    "kit": ({KIT: KIT + since("{day}", "conversion: 70 %, kettle: {{evaporation: 9 L/h}}")}, {}),
    "liquor": ({"  reservoir:\n": "  reservoir:\n" + since("{day}", "calcium: 140 mg/L")}, {}),
    "yeast": ({}, {"  ale: {": "  ale: {since: [{{from: {day}, apparent_attenuation: 60 %}}], "}),
    "tolerances": ({"people:": "tolerances:\n  since: "
                    "[{{from: {day}, mash_temperature: 0.1 K}}]\npeople:"}, {}),
    "methods": ({"people:": "methods:\n  since: "
                 "[{{from: {day}, bitterness: isomerisation}}]\npeople:"}, {}),
    "hop": ({}, {"  goldings: {": "  goldings: {since: [{{from: {day}, alpha: 15 %}}], "}),
    "thermometer": ({"  thermometer: {": "  thermometer: {since: "
                     "[{{from: {day}, uncertainty: 5 K}}], "}, {}),
    "malt": ({}, {"  pale: {": "  pale: {since: [{{from: {day}, extract: 60 %}}], "}),
}


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(what=st.sampled_from(sorted(LATER)), day=st.dates(
    min_value=__import__("datetime").date(2026, 3, 15),
    max_value=__import__("datetime").date(2199, 1, 1)))
def test_no_entry_dated_later_changes_an_earlier_record(what: str, day: object) -> None:
    before, said = batch(house({}))
    brewery, stock = (
        {k: v.replace("{day}", str(day)).replace("{{", "{").replace("}}", "}")
         for k, v in part.items()} for part in LATER[what]
    )
    files = house(brewery, stock)
    after, said_after = batch(files)
    numbers = [
        {r.figure.key: (r.expected and r.expected.value, r.limits, r.verdict) for r in b.results}
        for b in (before, after)
    ]
    assert numbers[0] == numbers[1]
    words = [[(f.rule, f.message) for f in found if f.position.file == RECORD]
             for found in (said, said_after)]
    assert words[0] == words[1]
    assert numbers_hash(before) == numbers_hash(after)
    assert page(before) == page(after)


def page(batch: Assessment) -> bytes:
    return RECORD_PAGE.make(batch, "A4", 1, HTML)


INSTRUMENT_LATER = {
    "a sound check": "{on: 2026-01-02}, {on: 2026-09-01, reads_high_by: 0.2 K}",
    "three sound checks": "{on: 2026-01-02}, {on: 2026-05-01}, {on: 2026-09-01, note: ice water}",
}


@pytest.mark.parametrize("checks", INSTRUMENT_LATER)
def test_no_later_sound_check_of_an_instrument_changes_an_earlier_record(checks: str) -> None:
    """One that finds it wrong adds its finding; figures and verdicts stay (test_doubt)."""
    old = "uncertainty: 0.4 K, checked: 2026-01-02}"
    first = batch(house({old: "uncertainty: 0.4 K, checks: [{on: 2026-01-02}]}"}))[0]
    later = f"uncertainty: 0.4 K, checks: [{INSTRUMENT_LATER[checks]}]}}"
    assert page(first) == page(batch(house({old: later}))[0])


def test_no_other_record_changes_a_record() -> None:
    files = house({})
    other = files[RECORD].replace(b"batch: 2026-01", b"batch: 2026-02")
    other = other.replace(b"2026-03-1", b"2026-08-1").replace(b"66.4 C", b"61.0 C")
    later = {**files, "2026/2026-02.yaml": other}
    assert page(batch(files)[0]) == page(batch(later)[0])


@pytest.mark.parametrize(
    "lines, rule",
    [
        ("[{from: 2026-05-01, conversion: 90 %}, {from: 2026-05-01, conversion: 91 %}]",
         "since-days"),
        ("[{from: 2026-05-01, conversion: 90 %}, {from: 2026-04-01, conversion: 91 %}]",
         "since-days"),
        ("[{from: 2026-05-01, conversion: 90 L}]", "quantity"),
        ("[{conversion: 90 %}]", "missing-key"),
        ("[{from: May, conversion: 90 %}]", "date"),
        ("[{from: 2026-05-01, conversoin: 90 %}]", "unknown-key"),
        ("[{from: 2026-05-01, because: new mill}]", "since-days"),
    ],
)
def test_what_is_wrong_with_a_change_is_found_at_its_line(lines: str, rule: str) -> None:
    archive = load_archive(EXAMPLE, given=house({KIT: KIT + f"    since: {lines}\n"}))
    assert rule in {f.rule for f in archive.findings}, archive.findings
    assert {f.position.file for f in archive.findings} == {"brewery.yaml"}


def test_checks_of_an_instrument_stand_in_the_order_of_their_days() -> None:
    old = "uncertainty: 0.4 K, checked: 2026-01-02}"
    for last, wrong in (("2025-09-01", 1), ("2026-05-01", 0), ("2026-09-01", 0)):
        checks = f"checks: [{{on: 2026-01-02}}, {{on: 2026-05-01}}, {{on: {last}}}]}}"
        archive = load_archive(
            EXAMPLE, given=house({old: f"uncertainty: 0.4 K, {checks}"})
        )
        assert len(archive.findings) == wrong, archive.findings


def test_a_tolerance_has_its_day_too() -> None:
    text = (EXAMPLE / "brewery.yaml").read_text(encoding="utf-8")
    text += "\n" if "tolerances:" in text else "\ntolerances: {}\n"
    text = text.replace("tolerances: {}", "tolerances:\n  mash_temperature: 1.0 K\n"
                        "  since: [{from: 2026-01-01, mash_temperature: 0.6 K}]\n")
    found, said = batch({**house({}), "brewery.yaml": text.encode()})
    assert not [f for f in said if f.severity.value == "error"]
    limits = found.result("mash_temperature").limits
    assert limits is not None and limits.high - limits.low == pytest.approx(1.2)


DAYS = [
    # Lines of a kit; what is found of which value or day. The sheet is of 2026-03-10.
    ("[{from: 2026-01-01, conversion: 90 %}, {from: 2026-02-01, conversion: 91 %}]",
     ["`conversion` was valid for no batch"]),
    ("[{from: 2025-01-01, kettle: {evaporation: 5 L/h}}]",
     ["`kettle.evaporation` was valid for no batch"]),
    ("[{from: 2026-03-01, conversion: 90 %}]", ["`conversion` was valid for no batch"]),
    ("[{from: 2026-03-11, conversion: 90 %}]", []),
    ("[{from: 2026-12-01, conversion: 90 %}]", []),
    ("[{from: 2062-07-01, conversion: 90 %}]", ["2062-07-01 is more than five years after"]),
    # A gap before the first day: what no value stands for until then goes by the usual one.
    ("[{from: 2026-04-01, tanks_in_series: 3}]", []),
]


@pytest.mark.parametrize("lines, wanted", DAYS)
def test_a_value_that_never_held_and_a_day_long_after_are_notes(
    lines: str, wanted: list[str]
) -> None:
    given = house({KIT: KIT + f"    since: {lines}\n"})
    text = given["brewery.yaml"].decode()
    if "conversion" in lines and "conversion" not in text.split("since:")[0]:
        given["brewery.yaml"] = text.replace(KIT, KIT + "    conversion: 95 %\n", 1).encode()
    archive = load_archive(EXAMPLE, given=given)
    found = [f for f in archive.findings if f.rule.startswith("since-")]
    assert all(f.severity.value == "note" for f in found)
    said = " ".join(f.message for f in found)
    assert all(part in said for part in wanted), said
    assert bool(found) is bool(wanted), said
    lines_of = given["brewery.yaml"].decode().splitlines()
    for one in found:
        assert one.line == lines_of[one.position.line - 1]


def test_a_check_of_an_instrument_long_after_the_last_batch_is_a_slip() -> None:
    old = "uncertainty: 0.4 K, checked: 2026-01-02}"
    for day, wanted in (("2026-06-01", False), ("2028-03-01", False), ("2062-01-02", True)):
        given = house({old: f"uncertainty: 0.4 K, checks: [{{on: {day}}}]}}"})
        rules = {f.rule for f in load_archive(EXAMPLE, given=given).findings}
        assert ("since-far-ahead" in rules) is wanted, day
    analysed = house({"analysed: 2026-01-10": "analysed: 2062-01-10"})
    rules = [f.rule for f in load_archive(EXAMPLE, given=analysed).findings]
    assert rules == ["since-far-ahead"]


def test_what_must_be_given_cannot_begin_on_a_day() -> None:
    """Before that day there would be no evaporation: said where the value is missing."""
    text = "kettle: {volume: 60 L, evaporation: 4.5 L/h,"
    gap = {text: "since: [{from: 2026-04-01, kettle: {evaporation: 4.5 L/h}}]\n"
                 "    kettle: {volume: 60 L,"}
    archive = load_archive(EXAMPLE, given=house(gap))
    assert [f.rule for f in archive.findings] == ["missing-key"]
    assert "evaporation" in archive.findings[0].message


def test_days_are_judged_by_all_batches_however_the_archive_is_read(tmp_path: Path) -> None:
    from houses import house as written
    from houses import inside

    folder = written(
        tmp_path / "a",
        {f"2026-{n:02}": f"brew_day: {{date: 2026-{n:02}-14}}" for n in range(1, 4)},
        "kits: {main: {conversion: 95 %, since: [{from: 2026-01-20, conversion: 90 %}, "
        "{from: 2026-02-01, conversion: 91 %}]}}",
    )
    said = inside("check", cwd=folder).stdout
    assert said.count("since-never-held") == 1 and "`conversion` was valid for no batch" in said


def test_a_change_that_holds_is_told_with_its_reason() -> None:
    parts = (
        "    since:\n      - {from: 2026-01-01, because: one, conversion: 95 %, grain_absorption:"
        " 1 L/kg}\n      - {from: 2026-02-01, because: two, conversion: 94 %}\n"
    )
    archive = load_archive(EXAMPLE, given=house({KIT: KIT + parts}))
    told = {
        day: [(change.keys, change.because) for change in archive.changed(day)]
        for day in (date(2025, 12, 31), date(2026, 1, 1), date(2026, 2, 1), None)
    }
    assert told[date(2025, 12, 31)] == []
    assert told[date(2026, 1, 1)] == [(("conversion", "grain_absorption"), "one")]
    assert told[None] == told[date(2026, 2, 1)] == [
        (("grain_absorption",), "one"), (("conversion",), "two"),
    ]  # fmt: skip
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    assert "conversion since 2026-02-01, two" in [u.words for u in used_lines(found)][-1]


def test_an_unknown_key_given_twice_is_said_to_be_unknown_and_no_more() -> None:
    parts = (
        "    since:\n      - {from: 2026-01-01, because: one, conversoin: 95 %}\n"
        "      - {from: 2026-01-01, because: two, conversoin: 94 %}\n"
    )
    archive = load_archive(EXAMPLE, given=house({KIT: KIT + parts}))
    assert [f.rule for f in archive.findings] == ["unknown-key", "unknown-key"]


def test_a_change_written_into_a_vessel_is_told_its_place() -> None:
    wrong = "kettle: {since: [{from: 2026-03-12, evaporation: 6 L/h}], volume"
    archive = load_archive(EXAMPLE, given=house({"kettle: {volume": wrong}))
    (found,) = [f for f in archive.findings if f.rule == "unknown-key"]
    assert "`since: [{from: 2026-07-01, kettle: {...}}]`" in found.remedy
