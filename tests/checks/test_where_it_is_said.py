"""One cause, one finding, at the line of the slip; a closed deviation answers what it names."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from reportgen.archive.checked import each_name_once, findings_in
from reportgen.assessment.assess import Assessment, assess
from reportgen.checks.base import names
from reportgen.forecast.figures import READ
from reportgen.loading import load_archive
from reportgen.record.finding import Finding
from reportgen.record.kinds import read_quantity
from reportgen.record.listing import listing_of
from reportgen.verbs.blanks import unit_beside

DEMO = Path(__file__).parents[2] / "batches"
FILE = "2026/2026-01.yaml"
TEXT = (DEMO / FILE).read_text(encoding="utf-8")
LISTING = listing_of(DEMO)
LAST_OF_DAY = "  rinse_ph: 7.0\n"
SHORT = ("started: 12:20\n    ended: 13:35", "started: 12:20\n    ended: 12:50")


@cache
def _batch(*changes: tuple[str, str]) -> tuple[Assessment, list[Finding], str]:
    text = TEXT
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    archive = load_archive(DEMO, names(), {FILE: text.encode()}, [FILE], LISTING)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    return found, findings_in(archive, {FILE}), text


def _rules(*changes: tuple[str, str]) -> set[str]:
    return {f.rule for f in _batch(*changes)[1]} - {f.rule for f in _batch()[1]}


@pytest.mark.parametrize(
    ("old", "new", "typed"),
    [("item: pale, amount: 6.60 kg", "item: pale, amount: 40 kg", "amount: 40 kg"),
     ("ended: 13:35", "ended: 22:50", "ended: 22:50")],
)  # fmt: skip
def test_what_stops_the_forecast_is_said_where_it_was_typed(
    old: str, new: str, typed: str
) -> None:
    _, found, text = _batch((old, new))
    (stops,) = [f for f in found if f.rule == "forecast-stops"]
    assert typed in text.splitlines()[stops.position.line - 1]


@pytest.mark.parametrize(
    ("entry", "rule"),
    [("added: [{what: reservoir, amount: 4 L, to: mash, at: 22:50}]", "addition-out-of-time"),
     ("added: [{what: reservoir, amount: 4 L, to: fermenter, at: 2026-01-17 09:00}]",
      "addition-out-of-time"),
     ("added: [{what: reservoir, amount: 400 L, to: kettle, at: 12:30}]", "addition-over-vessel"),
     ("taken: [{what: wort, amount: 60 L, from: fermenter, at: 2026-01-18 12:30}]",
      "addition-over-vessel"),
     ("taken: [{what: wort, amount: 3 L, from: kettle, at: 22:30}]", "addition-out-of-time")],
)  # fmt: skip
def test_what_cannot_have_happened_moves_no_number(entry: str, rule: str) -> None:
    before, _, _ = _batch()
    after, found, _ = _batch((LAST_OF_DAY, f"{LAST_OF_DAY}  {entry}\n"))
    assert rule in {f.rule for f in found}
    for key, expected in before.now.expected.items():
        assert after.now.expected[key].value == expected.value, key


def test_what_happened_moves_them() -> None:
    before, _, _ = _batch()
    entry = "added: [{what: reservoir, amount: 4 L, to: mash, at: 09:50}]"
    after, _, _ = _batch((LAST_OF_DAY, f"{LAST_OF_DAY}  {entry}\n"))
    assert after.now.expected["conversion"].value != before.now.expected["conversion"].value


def test_no_more_comes_out_of_a_vessel_than_was_in_it() -> None:
    entry = "taken: [{what: wort, amount: 60 L, from: kettle, at: 12:30}]"
    assert "addition-over-vessel" in _rules((LAST_OF_DAY, f"{LAST_OF_DAY}  {entry}\n"))
    sound = "taken: [{what: wort, amount: 1 L, from: kettle, at: 12:30}]"
    assert "addition-over-vessel" not in _rules((LAST_OF_DAY, f"{LAST_OF_DAY}  {sound}\n"))


@pytest.mark.parametrize(
    ("deviation", "is_answered"),
    [("{findings: [time-missed], what: power cut, cause: storm}", True),
     ("{findings: [time-missed], what: power cut, cause_certainty: unknown}", True),
     ("{findings: [time-missed], what: power cut}", False),
     ("{findings: [weighed-differs], what: power cut, cause: storm}", False)],
)  # fmt: skip
def test_a_closed_deviation_answers_the_findings_it_names(
    deviation: str, is_answered: bool
) -> None:
    review = ("review:\n", f"review:\n  deviations:\n    - {deviation}\n")
    assert ("time-missed" not in _rules(SHORT, review)) == is_answered
    assert "time-missed" in _rules(SHORT)


@pytest.mark.parametrize(
    ("reading", "wrong", "rule"),
    [("mash_ph:\n      read: 5.46", "mash_ph:\n      read: 4.99", "mash-ph-off"),
     ("sparge_temperature: 75.0 C", "sparge_temperature: 84 C", "sparge-too-hot"),
     ("pitch_temperature: 18.4 C", "pitch_temperature: 29 C", "pitching-warm")],
)  # fmt: skip
def test_a_closed_deviation_answers_that_its_figure_is_off(
    reading: str, wrong: str, rule: str
) -> None:
    figure = reading.split(":")[0]
    closed = f"{{figure: {figure}, what: off, cause: haste}}"
    review = ("review:\n", f"review:\n  deviations:\n    - {closed}\n")
    other = ("review:\n", f"review:\n  deviations:\n    - {closed.replace(figure, 'wort_ph')}\n")
    assert rule in _rules((reading, wrong)) and rule in _rules((reading, wrong), other)
    assert rule not in _rules((reading, wrong), review)
    # That it is off the plan as well is one thing with it.
    assert "off-plan-without-review" not in _rules((reading, wrong))


@pytest.mark.parametrize(
    ("deviation", "rule"),
    [("{figure: pitch_temperature, what: '', cause: haste}", "empty"),
     ("{figure: pitch_temperature, cause: haste}", "missing-key"),
     ("{figure: '', what: off, cause: haste}", "empty"),
     ("{figure: pitch_temprature, what: off, cause: haste}", "unknown-figure"),
     ("{figures: [], what: off, cause: haste}", "deviation-names-nothing")],
)  # fmt: skip
def test_a_deviation_with_one_field_wrong_is_one_finding(deviation: str, rule: str) -> None:
    review = ("review:\n", f"review:\n  deviations:\n    - {deviation}\n")
    assert _rules(("pitch_temperature: 18.4 C", "pitch_temperature: 29 C"), review) == {rule}


@pytest.mark.parametrize(
    ("old", "new", "remedy"),
    [("pitch_temperature: 18.4 C", "pitch_temperature: 1.87 C",
      "did you mean 18.7 C? If it is true, say in the review what happened"),
     ("pressure: {read: 0.72 bar", "pressure: {read: 0.07 bar",
      "did you mean 0.70 bar? If it is true, say in the review what happened; "
      "until that is closed write `disposition: hold`"),
     ("pitch_temperature: 18.4 C", "pitch_temperature: 12 C",
      "add it under `review: deviations`, with what happened"),
     ("  final_gravity: {read: 1.0145, sample: 18 C}\n", "",
      "write `final_gravity: 1.014`, as the log ends")],
)  # fmt: skip
def test_a_lone_reading_far_off_is_offered_what_it_may_be(old: str, new: str, remedy: str) -> None:
    _, before, _ = _batch()
    _, found, _ = _batch((old, new))
    assert remedy in {f.remedy for f in found} - {f.remedy for f in before}


def test_no_deviation_answers_what_warns_of_harm() -> None:
    burst = ("pressure: {read: 0.72 bar", "pressure: {read: 7.2 bar")
    named = "{findings: [pressure-over-limit], what: a, cause: b, correction: c}"
    review = ("review:\n", f"review:\n  deviations:\n    - {named}\n")
    assert "pressure-over-limit" in _rules(burst, review)


def test_what_follows_of_a_pressure_that_bursts_is_said_with_it() -> None:
    burst = ("pressure: {read: 0.72 bar", "pressure: {read: 7.2 bar")
    assert _rules(burst) == {"pressure-over-limit"}
    (said,) = [f for f in _batch(burst)[1] if f.rule == "pressure-over-limit"]
    assert "released while its deviation is open" in said.message
    assert "vent slowly" in said.remedy and "did you mean 0.72 bar?" in said.remedy


def test_a_pressure_is_not_said_to_be_itself() -> None:
    _, found, _ = _batch(("pressure: {read: 0.72 bar", "pressure: {read: 0.7 psi"))
    (said,) = [f for f in found if f.rule == "pressure-in-another-unit"]
    assert "if it shows 0.7 bar, write `0.7 bar`" in said.remedy


@pytest.mark.parametrize("sample", ["mash_end_temperature: 66.4 C", "yeast_amount: 0.45 L"])
def test_a_sample_is_refused_where_nothing_is_corrected_for_it(sample: str) -> None:
    key, value = sample.split(": ")
    _, found, _ = _batch((sample, f"{key}: {{read: {value}, sample: 20 C}}"))
    (wrong,) = [f for f in found if f.rule == "unknown-key"]
    assert wrong.message.startswith("`sample`") and "a gravity, a pH or a volume" in wrong.remedy


def test_each_blank_without_a_unit_has_a_plausible_example() -> None:
    beside = {f.key: unit_beside(f, "metric") for f in READ if f.kind in ("gravity", "ph")}
    values = {key: float(text.split()[-1]) for key, text in beside.items()}
    assert values["final_gravity"] < 1.02 < values["original_gravity"]
    for key, value in values.items():
        read_quantity(f"{value}", next(f.kind for f in READ if f.key == key))


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [("evaporation: 4.5 L/h", "evaporation: 45 L/h", "kit-figures-odd"),
     ("volume: 60 L", "volume: 6 L", "kit-figures-odd"),
     ("cooling_time: 25 min", "cooling_time: 25 h", "unusual-value")],
)  # fmt: skip
def test_a_slip_in_a_kit_is_one_finding_for_all_its_records(old: str, new: str, rule: str) -> None:
    house = (DEMO / "brewery.yaml").read_text(encoding="utf-8")
    assert old in house
    files = ["2025/2025-06.yaml", "2026/2026-01.yaml"]

    def told(text: str, asked: set[str] | None) -> set[tuple[str, str, str]]:
        archive = load_archive(DEMO, names(), {"brewery.yaml": text.encode()}, files)
        found = findings_in(archive, asked)
        return {(f.rule, f.position.file, f.message) for f in found}

    for asked in (None, {files[1]}):
        more = told(house.replace(old, new, 1), asked) - told(house, asked)
        assert [(name, file) for name, file, _ in more] == [(rule, "brewery.yaml")]


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [("6.60 kg, lot: M-2519}", "6.60 kg, lot: m-2519}", "lot-unknown"),
     ("written_by: JT", "written_by: jt", "initials-unknown")],
)  # fmt: skip
def test_a_mistyped_name_in_an_issued_plan_is_one_finding(old: str, new: str, rule: str) -> None:
    assert _rules((old, new)) == {rule}


@pytest.mark.parametrize(
    ("file", "old", "new", "offered"),
    [("stock.yaml", "\n  pale:", "\n  pael:", "did you mean `pael`? If it was renamed"),
     ("stock.yaml", "    M-2616:", "    M-2661:", "did you mean `M-2661`? If it was renamed"),
     ("brewery.yaml", "\n  probe:", "\n  digital_probe:", "; if it was renamed")],
)  # fmt: skip
def test_a_name_that_was_changed_is_one_finding_for_all_its_records(
    file: str, old: str, new: str, offered: str
) -> None:
    house = (DEMO / file).read_text(encoding="utf-8")
    assert house.count(old) == 1
    files = ["2026/2026-06.yaml", "2026/2026-07.yaml", "2026/2026-08.yaml"]

    def told(text: str) -> list[Finding]:
        archive = load_archive(DEMO, names(), {file: text.encode()}, files)
        return each_name_once(findings_in(archive, {*files}))

    before = {(f.rule, f.message) for f in told(house)}
    (said,) = [f for f in told(house.replace(old, new)) if (f.rule, f.message) not in before]
    assert "so in 3 files, the last 2026/2026-08.yaml" in said.message and offered in said.remedy


@pytest.mark.parametrize(
    ("old", "new", "section"),
    [("  pitch:\n    fermenter_volume: 39 L", "    fermenter_volume: 39 L", "brew_day: pitch"),
     ("  pitch:\n    fermenter_volume: 39 L", "    pitch:\n    fermenter_volume: 39 L",
      "brew_day: pitch"),
     ("  run_off:\n    started: 10:30\n", "", "brew_day: run_off"),
     ("  packaged_volume: 37.5 L", "  final_gravity: 1.014\n  packaged_volume: 37.5 L",
      "fermentation"),
     ("  harvest:\n", "harvest:\n", "fermentation"),
     ("  rinse_ph: 7.0\n", "  mash_temperature: 67 C\n", "brew_day: mash")],
)  # fmt: skip
def test_lines_below_the_wrong_section_are_one_finding(old: str, new: str, section: str) -> None:
    _, found, _ = _batch((old, new))
    (wrong,) = [f for f in found if f.rule in ("unknown-key", "missing-key")]
    assert f"`{section}`" in wrong.message + wrong.remedy


def test_a_weight_typed_twice_is_one_finding() -> None:
    line = "    - {item: brown, amount: 0.80 kg, lot: M-2601, at: 08:25, by: MO, checked_by: JT}\n"
    assert _rules((line, 2 * line)) == {"written-twice"}


def test_an_entry_of_the_log_typed_twice_is_one_finding() -> None:
    line = "    - {at: 2026-01-20 19:00, temperature: 20.5 C, gravity: 1.0155, by: MO}\n"
    assert _rules((line, 2 * line)) == {"written-twice"}


def test_liquor_that_came_in_unwritten_is_one_finding_with_the_text_to_type() -> None:
    """A burst cooler: 40.9 L of 1.0533 thinned to 1.0468 took in 5.7 L, since extract stays."""
    burst = [("fermenter_volume: 39 L", "fermenter_volume: 45 L"),
             ("original_gravity: {read: 1.0535", "original_gravity: {read: 1.047")]  # fmt: skip
    _, found, _ = _batch(*burst)
    rules = {f.rule: f for f in found}
    assert "fermenter-volume-grows" not in rules
    said = rules["gravity-lost-in-transfer"].remedy
    entry = "- {what: borehole, amount: 5.7 L, to: kettle, at: HH:MM}"
    assert entry in said
    written = f"{LAST_OF_DAY}  added:\n    {entry.replace('HH:MM', '13:50')}\n"
    more = _rules(*burst, (LAST_OF_DAY, written))
    assert not {"gravity-lost-in-transfer", "fermenter-volume-grows"} & more


@pytest.mark.parametrize(
    ("rest", "is_enough"),
    [("house_ale_b, amount: 0.43 L", True), ("dry_ale, amount: 22 g", True),
     ("dry_ale, amount: 1 g", False), ("dry_ale, amount: 2.2 kg", False)],
)  # fmt: skip
def test_yeast_pitched_in_two_goes_is_judged_together(rest: str, is_enough: bool) -> None:
    """22 g of dry yeast have about 0.2 million million cells, what half a litre of slurry has."""
    little = ("yeast_amount: 0.45 L", "yeast_amount: 0.02 L")
    added = f"  added: [{{what: {rest}, to: fermenter, at: 2026-01-17 20:00}}]\n"
    assert "yeast-amount-unusual" in _rules(little)
    rules = _rules(little, (LAST_OF_DAY, LAST_OF_DAY + added))
    assert ("yeast-amount-unusual" not in rules) == is_enough


def test_a_boil_past_midnight_is_after_what_was_weighed_that_day() -> None:
    late = [("started: 12:20\n    ended: 13:35", "started: 23:10\n    ended: 00:25"),
            ("    at: 14:30\n", "    at: 01:30\n")]  # fmt: skip
    assert "clock-backwards" not in _rules(*late)
    forgotten = ("lot: H-2534\n      at: 11:20", "lot: H-2534\n      at: 14:20")
    assert "clock-backwards" in _rules(forgotten)


PALE = "    - {item: pale, amount: 6.60 kg, lot: M-2519, at: 08:20, by: MO, checked_by: JT}\n"


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ("fermenter_volume: 40 L", "fermenter_volume: 400 L", "unusual-value"),
        ("fermenter_volume: 40 L", "fermenter_volume: 4.0 L", "unusual-value"),
        ("mash_liquor: 29 L\n    acids", "mash_liquor: 92 L\n    acids", "unusual-value"),
        ("malt: pale, amount: 6.60 kg", "malt: pale, amount: 66.0 kg", "unusual-value"),
        ("    time: 75 min\n", "    time: 7.5 min\n", "longer-than-boil"),
        ("pitch_temperature: 18 C", "pitch_temperature: 180 C", "fahrenheit-as-celsius"),
        ("pitch_temperature: 18.4 C", "pitch_temperature: 81.4 C", "pitching-warm"),
        ("sample: 20 C\n      at: 09:45", "sample: 20 F\n      at: 09:45",
         "fahrenheit-as-celsius"),
        ("temperature: 18.5 C, grav", "temperature: 185 C, grav", "fahrenheit-as-celsius"),
        ("gravity: 1.049, by: JT", "gravity: 1.094, by: JT", "gravity-rises"),
        (PALE, 2 * PALE, "written-twice"),
        ("at: 08:40, by: JT", "at: 20:40, by: JT", "clock-backwards"),
        ("77.1 C, at: 09:22", "77.1 C, at: 21:22", "clock-backwards"),
        ("started: 12:20", "started: 20:12", "mistyped"),
        ("started: 09:25", "started: 21:25", "mistyped"),
        ("started: 09:25", "started: 10:25", "mistyped"),
        ("malt_temperature: 9 C", "malt_temperature: 90 C", "forecast-stops"),
        ("malt_temperature: 9 C", "malt_temperature: 220 C", "fahrenheit-as-celsius"),
        ("started: 12:20", "started: 13:20", "time-missed"),
        ("  date: 2026-01-17\n", "  date: 2026-01-27\n", "mistyped"),
        ("  date: 2026-01-17\n", "  date: 2026-01-07\n", "mistyped"),
        ("  date: 2026-01-28\n", "  date: 2026-02-28\n", "mistyped"),
        ("beer_temperature: 8.5 C", "beer_temperature: 0.85 C", "off-plan-without-review"),
        ("read: 0.72 bar", "read: 0.72 psi", "pressure-in-another-unit"),
        ("amount: 75 mL, lot: A-252", "amount: 75, lot: A-252", "quantity"),
        ("item: phosphoric_10, amount: 80", "item: phosphoric_0, amount: 80", "unknown-name"),
        ("fermentation:\n  instruments", "fermentatin:\n  instruments", "unknown-key"),
        ("  label: ", "  labl: ", "unknown-key"),
    ],
)  # fmt: skip
def test_one_slip_is_one_finding(old: str, new: str, rule: str) -> None:
    told = [f for f in _batch((old, new))[1] if f.rule != "plan-changed-since-issued"]
    assert [f.rule for f in told if f not in _batch()[1]] == [rule]


@pytest.mark.parametrize("typed", ["2026-01-27", "2026-01-07", "2026-02-17", "2027-01-17"])
def test_a_wrong_brew_day_is_offered_the_day_that_fits_all(typed: str) -> None:
    (said,) = [
        f for f in _batch(("  date: 2026-01-17\n", f"  date: {typed}\n"))[1]
        if f.rule == "mistyped"
    ]  # fmt: skip
    assert said.remedy.startswith("did you mean 2026-01-17?")
