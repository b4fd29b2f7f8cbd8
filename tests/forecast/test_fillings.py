"""Part of a batch in kegs, part in bottles: each has gas, rating and strength of its own.

Check values: from 342.30 g of sucrose come 4 times 44.01 g of carbon dioxide and of ethanol 4 times
46.07 g (standard atomic weights, CIAAW 2021); a volume is 1.977 g/L.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from checked import archive_with
from hypothesis import given, settings
from hypothesis import strategies as st
from monte_carlo import case_of
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment, assess
from reportgen.assessment.balance import closures
from reportgen.assessment.carried import carried
from reportgen.assessment.explained import explain
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.assessment.verdicts import Verdict
from reportgen.checks.base import run_checks
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import ContainerShare, LiquorAdded, SugarDose
from reportgen.forecast.pack import filled, share_of_beer, sugar_beside
from reportgen.record.finding import Finding, Severity
from reportgen.report.card import card, strength_of
from reportgen.report.labels import amount_of, file_end
from reportgen.report.packaging import packaging_sheet
from reportgen.science.number import nominal

HOUSE = """
brewery:
  instruments: {fine: {reads: scale, resolution: 0.1 g, uncertainty: 0.2 g}}
  containers:
    keg_19: {is: keg, volume: 19 L, number: 4, pressure_rating: 4 bar}
    half: {is: bottle, volume: 0.5 L, number: 99, pressure_rating: 6 bar}
fermentation:
  finished: 2026-03-22
  log: [{at: 2026-03-20 18:00, gravity: 1.011}, {at: 2026-03-22 18:00, gravity: 1.011}]
  final_gravity: 1.011
brew_day: {date: 2026-03-14, pitch: {fermenter_volume: 40 L, original_gravity: 1.049}}
"""
KEG, BOTTLE = "plan: {packaging: {into: keg}}\n", "plan: {packaging: {into: bottle}}\n"
PRIMED = 4 * 44.01 / 342.30 / 1.977
"""Volumes of gas from 1 g of sucrose in a litre."""

Made = Callable[[str], Assessment]


@pytest.fixture
def made(tmp_path: Path) -> Made:
    """Return what lays a day of packaging over the example, as its batch is then assessed."""
    count = iter(range(99))

    def of(patch: str) -> Assessment:
        archive = archive_with(HOUSE + patch, tmp_path / str(next(count)))
        found = assess(archive, next(iter(archive.batches.values())))
        assert found is not None
        return found

    return of


def packed(words: str) -> str:
    return f"packaging: {{date: 2026-03-24, label: barley, {words}}}\n"


def put(one: Assessment, name: str) -> float:
    puts = {p.name: nominal(p.value) for p in one.now.expected["highest_pressure"].puts}
    return puts[name]


def said(one: Assessment, *rules: str) -> list[Finding]:
    return [f for f in run_checks(one) if f.rule in rules]


PRESSED = ("pressure-over-limit", "too-much-priming-sugar")


def test_the_rest_in_bottles_has_the_gas_of_its_own_sugar(made: Made) -> None:
    """The kegs were full, and four bottles took the rest: nobody had planned any."""
    words = "packaged_volume: 40 L, containers: 2, pressure: 0.7 bar, beer_temperature: 6 C"
    also = ", also: [{into: bottle, containers: 4, container_size: 0.5 L, priming_sugar: 10 g}]"
    batch = made(KEG + packed(words + also))
    (bottles,) = batch.others_filled
    assert bottles.filling is not None and bottles.filling.planned is None
    more = put(bottles, "CO2 in the beer") - put(bottles, "CO2 still dissolved")
    assert more == pytest.approx(PRIMED * 10 / 2, rel=1e-3)
    # In all of the beer it would be a twentieth.
    assert put(batch, "CO2 in the beer") == pytest.approx(2.20, abs=0.02)
    assert bottles.case.container.rating == 6 and batch.case.container.rating == 4
    assert said(batch, *PRESSED) == []


def test_sugar_is_judged_for_the_beer_that_it_is_in(made: Made) -> None:
    """Half of the beer wants half of the sugar, as the table of the sheet has it."""
    halved = "packaged_volume: 20 L, containers: 40, container_size: 0.5 L, priming_sugar: %s"
    whole = made(BOTTLE)
    wanted = whole.planned.expected["priming_sugar"].value
    litres = whole.planned.expected["packaged_volume"].value
    right = made(BOTTLE + packed(halved % f"{1000 * wanted * 20 / litres:.0f} g"))
    assert right.result("priming_sugar").verdict is Verdict.ON_PLAN
    # What was planned for all of it is off, and told once.
    batch = made(BOTTLE + packed(halved % f"{1000 * wanted:.0f} g"))
    assert batch.result("priming_sugar").verdict is Verdict.OFF_PLAN
    at = batch.actuals["priming_sugar"].reading.position
    assert [f.rule for f in run_checks(batch) if f.position == at] == ["too-much-priming-sugar"]


def test_the_same_bottles_a_week_later_have_their_day_in_their_name(made: Made) -> None:
    later = "also: [{into: bottle, date: 2026-03-31, containers: 20, container_size: 0.5 L}]"
    words = f"packaged_volume: 20 L, containers: 20, container_size: 0.5 L, {later}"
    batch = made(BOTTLE + packed(words))
    names = [kind.packed_in for kind in batch.packed_as]
    assert names[1] == f"{names[0]} of 2026-03-31"


@pytest.mark.parametrize(
    ("log", "left"),
    [("{at: 2026-03-17 08:00, gravity: 1.030, temperature: 30 C}", 1.0),
     ("{at: 2026-03-23 08:00, temperature: 30 C}", 0.665 / 0.878),
     ("{at: 2026-03-23 08:00, temperature: 2 C}", 1.0),
     ("{at: 2026-04-23 08:00, temperature: 30 C}", 1.0),
     ("{at: 2026-03-23 08:00, temperature: 200 C}", 1.0)],
    ids=["while it ferments", "after it", "cold after it", "in the bottle", "no beer can be"],
)  # fmt: skip
def test_what_a_warm_day_after_fermentation_gave_off_is_gone(
    log: str, left: float, made: Made
) -> None:
    """A litre of water takes up 0.878 L of carbon dioxide at 20 degC and 0.665 L at 30 (handbook
    tables of the Bunsen coefficient; from memory)."""
    ended = "{at: 2026-03-22 08:00, gravity: 1.0110, temperature: 20 C}"
    words = "packaged_volume: 38 L, containers: 76, container_size: 0.5 L, priming_sugar: 200 g"
    gas = []
    for entries in ([ended], sorted([log, ended])):
        ferment = f"fermentation: {{log: [{', '.join(entries)}], final_gravity: 1.0110}}\n"
        gas.append(put(made(BOTTLE + ferment + packed(words)), "CO2 still dissolved"))
    assert gas[1] / gas[0] == pytest.approx(left, abs=0.02)
    primed = made(BOTTLE + ferment + packed(f"{words}, beer_temperature: 30 C"))
    warm = put(primed, "CO2 still dissolved")
    assert warm / gas[0] == pytest.approx(0.665 / 0.878, abs=0.02)


def test_gas_under_pressure_is_that_of_the_pressure_read(made: Made) -> None:
    """A valve set to 0.8 bar that leaked: by Henry's law gas is as the absolute pressure."""
    plan = (
        "plan: {fermentation: {pressure: 0.8 bar}, packaging: {into: bottle}}\n"
        "brewery: {kits: {main: {fermenter: {pressure_rating: 1 bar}}},"
        " instruments: {gauge: {uncertainty: 0.02 bar}}}\n"
    )
    words = "packaged_volume: 38 L, containers: 76, container_size: 0.5 L, priming_sugar: 40 g"
    entry = "{at: 2026-03-22 08:00, gravity: 1.0110, temperature: 20 C, pressure: %s}"
    gas = [
        put(made(f"{plan}fermentation: {{log: [{entry % bar}]}}\n{packed(words)}"),
            "CO2 still dissolved")
        for bar in ("0.8 bar", "0.2 bar")
    ]  # fmt: skip
    assert gas[1] / gas[0] == pytest.approx((1.001 + 0.2) / (1.001 + 0.8), abs=0.01)


def test_ten_times_the_sugar_in_the_bottles_is_said_of_the_bottles(made: Made) -> None:
    words = "packaged_volume: 40 L, containers: 2, pressure: 0.7 bar, beer_temperature: 6 C"
    also = ", also: [{into: bottle, containers: 4, container_size: 0.5 L, priming_sugar: 100 g}]"
    (found,) = said(made(KEG + packed(words + also)), *PRESSED)
    assert found.severity is Severity.CRITICAL
    assert found.message.partition(",")[0].endswith("in the bottle half at 30 °C")


def test_sugar_for_all_in_what_was_left_for_the_bottles(made: Made) -> None:
    """Half was racked to a keg before the sugar for all went in: it is in the other half."""
    words = "packaged_volume: 38 L, containers: 38, container_size: 0.5 L, priming_sugar: 200 g"
    keg = "also: [{into: keg, containers: 1, container_size: 19 L, volume: 19 L"
    apart = made(BOTTLE + packed(f"{words}, {keg}}}]"))
    assert [f.severity for f in said(apart, "too-much-priming-sugar")] == [Severity.CRITICAL]
    together = made(BOTTLE + packed(f"{words}, {keg}, from: bottling_bucket}}]"))
    assert said(together, *PRESSED) == []
    alone = made(BOTTLE + packed(words.replace("containers: 38", "containers: 76")))
    gas = put(alone, "CO2 in the beer")
    for one in together.packed_as:
        # The same sugar in the same beer, whatever it was then filled into.
        assert put(one, "CO2 in the beer") == pytest.approx(gas, rel=1e-9)
        assert nominal(one.now["alcohol"]) == pytest.approx(nominal(alone.now["alcohol"]), rel=1e-9)
    assert "pressure" not in together.others_filled[0].planned.expected


def test_bottles_filled_from_the_keg_later_bring_its_gas(made: Made) -> None:
    words = "packaged_volume: 38 L, containers: 2, pressure: 0.7 bar, beer_temperature: 6 C"
    also = "date: 2026-04-02, from: container, containers: 6, container_size: 0.5 L"
    batch = made(KEG + packed(f"{words}, also: [{{into: bottle, {also}}}]"))
    (bottles,) = batch.others_filled
    assert put(bottles, "CO2 in the beer") == pytest.approx(put(batch, "CO2 in the beer"))
    assert [r.figure.key for r in bottles.own_packing] == ["carbonation", "highest_pressure"]
    # Its beer is not beside that of the kegs.
    assert said(batch, "containers-disagree", "packed-more-than-fermented", *PRESSED) == []
    dropped = made(KEG + packed(f"{words}, also: [{{into: bottle, {also}, sugar_each: 4 g}}]"))
    more = put(dropped.others_filled[0], "CO2 in the beer") - put(batch, "CO2 in the beer")
    assert more == pytest.approx(PRIMED * 4 / 0.5, rel=1e-3)
    assert {f.severity for f in said(dropped, "too-much-priming-sugar")} == {Severity.CRITICAL}


@pytest.mark.parametrize(
    ("sugar", "grams"),
    [("sugar_each: 3 g", 36.0), ("priming_sugar: 20 g, sugar_each: 2 g", 44.0)],
)
def test_sugar_by_the_bottle_counts_as_often_as_there_are(
    made: Made, sugar: str, grams: float
) -> None:
    also = f"also: [{{into: bottle, containers: 12, container_size: 0.5 L, {sugar}}}]"
    batch = made(KEG + packed(f"packaged_volume: 38 L, {also}"))
    actual = batch.others_filled[0].actuals["priming_sugar"]
    assert actual.value == pytest.approx(grams / 1000) and actual.made_of.startswith("12 of")
    first = made(BOTTLE + packed(f"packaged_volume: 6 L, containers: 12, {sugar}"))
    assert first.actuals["priming_sugar"].value == pytest.approx(grams / 1000)
    assert said(first, "filling-not-written") == []


STORIES = [
    ("bottles not counted", KEG,
     "packaged_volume: 38 L, also: [{into: bottle, priming_sugar: 36 g}]",
     {"filling-not-written": Severity.MAJOR}),
    ("the other keg not counted", KEG,
     "packaged_volume: 38 L, also: [{into: keg, pressure: 0.7 bar}]",
     {"filling-not-written": Severity.MINOR}),
    ("neither counted", BOTTLE, "priming_sugar: 200 g, also: [{into: keg, pressure: 0.7 bar}]",
     {"filling-not-written": Severity.MAJOR}),
    ("sugar by the bottle, bottles not counted", BOTTLE, "packaged_volume: 38 L, sugar_each: 3 g",
     {"filling-not-written": Severity.MAJOR}),
    ("size mistyped", KEG, "packaged_volume: 38 L, containers: 2, container_size: 19 L, "
     "also: [{into: bottle, containers: 12, container_size: 5 L}]", {"containers-disagree": None}),
    ("volume of the kegs alone", KEG,
     "packaged_volume: 30 L, containers: 2, container_size: 15 L, also: [{"
     "into: bottle, containers: 12, container_size: 0.5 L}]", {"containers-disagree": None}),
    ("number against volume", KEG, "also: [{into: bottle, containers: 120, container_size: 0.5 L, "
     "volume: 6 L}]", {"containers-disagree": None}),
    ("more than there was", KEG, "containers: 2, container_size: 19 L, also: [{into: bottle, "
     "containers: 120, container_size: 0.5 L}]", {"packed-more-than-fermented": None}),
    ("a year too early", KEG, "also: [{into: bottle, date: 2025-03-24, containers: 4, "
     "container_size: 0.5 L}]", {"dates-out-of-order": None}),
    ("a bottle that is a keg", KEG, "also: [{into: bottle, container: keg_19, containers: 4}]",
     {"container-of-another-kind": None}),
    ("the last bottle half full", KEG,
     "packaged_volume: 38 L, containers: 2, container_size: 16 L, "
     "also: [{into: bottle, containers: 12, container_size: 0.5 L, volume: 5.7 L}]", {}),
    ("a keg half full", BOTTLE, "packaged_volume: 38 L, containers: 60, container_size: 0.5 L, "
     "priming_sugar: 150 g, also: [{into: keg, containers: 1, volume: 8 L}]", {}),
    ("planned and not filled", KEG.replace("keg}", "keg, also: [{into: bottle, volume: 6 L}]}"),
     "packaged_volume: 38 L, containers: 2, also: [{into: bottle, containers: 0}]", {}),
    ("planned and not written", KEG.replace("keg}", "keg, also: [{into: bottle, volume: 6 L}]}"),
     "packaged_volume: 38 L, containers: 2", {"filling-not-written": Severity.MINOR}),
]  # fmt: skip
LOOKED_AT = (
    "filling-not-written", "containers-disagree", "packed-more-than-fermented", *PRESSED,
    "dates-out-of-order", "container-of-another-kind", "forecast-stops", "not-corrected",
)  # fmt: skip


@pytest.mark.parametrize(
    ("plan", "day", "rules"), [s[1:] for s in STORIES], ids=[s[0] for s in STORIES]
)
def test_a_bad_day_is_one_finding(
    made: Made, plan: str, day: str, rules: dict[str, Severity | None]
) -> None:
    found = said(made(plan + packed(day)), *LOOKED_AT)
    assert [f.rule for f in found] == list(rules), [f.message for f in found]
    for one in found:
        assert rules[one.rule] in (None, one.severity), one.message


def test_more_planned_for_others_than_there_is_stops_the_forecast(made: Made) -> None:
    also = "also: [{into: bottle, volume: 60 L}]"
    batch = made(f"plan: {{packaging: {{into: keg, {also}}}}}\n")
    (one,) = said(batch, "forecast-stops")
    assert "takes 60.0 L of 38.5 L: nothing is left for the first" in one.message


def test_bottles_sealed_before_the_end_count_what_was_still_there(made: Made) -> None:
    """Bottled at 1.020, kegged a week later at the end: the bottles did not wait for it."""
    log = "log: [{at: 2026-03-16 18:00, gravity: 1.020}, {at: 2026-03-20 18:00, gravity: 1.011}]"
    days = f"fermentation: {{{log}, finished: 2026-03-22, final_gravity: 1.011}}\n"
    also = "also: [{into: bottle, date: 2026-03-17, containers: 12, container_size: 0.5 L}]"
    early = made(KEG + days + packed(f"packaged_volume: 38 L, {also}"))
    assert put(early.others_filled[0], "CO2 from extract that is left") > 1.5
    late = made(KEG + days + packed(f"packaged_volume: 38 L, {also}".replace("03-17", "03-25")))
    with pytest.raises(KeyError):
        put(late.others_filled[0], "CO2 from extract that is left")


def test_the_sheet_has_a_side_for_each_and_sugar_for_its_own_beer(made: Made) -> None:
    also = "also: [{into: bottle, volume: 6 L, carbonation: 2.6 vol}]"
    plan = f"plan: {{packaging: {{into: keg, {also}}}}}\nbrew_day: {{date: 2026-03-14}}\n"
    batch = made(plan)
    sheet = packaging_sheet(batch, "A4")
    keg, bottles = sheet.sides
    assert [row.key for row in bottles.rows] == ["priming_sugar"]
    assert {row.at for row in keg.rows}.isdisjoint(row.at for row in bottles.rows)
    (row,) = bottles.rows
    # 2.6 volumes less the 0.83 that beer of 20 degC still has under air, of 6 L.
    grams = (2.6 - 0.83) / PRIMED * 6
    assert float(row.expect.split("\u202f")[0]) == pytest.approx(grams, rel=0.03)
    assert [t.mark for side in sheet.sides for t in side.todos] == ["T1", "T2"]
    assert any("rated 6.0" in item.replace("\u202f", " ") for item in bottles.hold_point.items)
    facts = {fact.label: fact.value.replace("\u202f", " ") for fact in sheet.facts}
    assert facts["Into"] == "keg_19, 32.5 L"
    # What the sheet aims at in the bottles is part of what it was printed from.
    assert numbers_hash(batch) != numbers_hash(made(plan.replace("2.6 vol", "2.5 vol")))


def test_labels_and_card_have_size_strength_and_date_of_each(made: Made) -> None:
    words = "packaged_volume: 38 L, containers: 2, pressure: 0.7 bar, best_before: 2026-06-01"
    also = "{into: bottle, containers: 12, container_size: 0.33 L, priming_sugar: 40 g"
    batch = made(KEG + packed(f"{words}, also: [{also}, best_before: 2026-12-01}}]"))
    kinds = batch.filled_kinds
    assert [amount_of(one).replace("\u202f", " ") for one in kinds] == ["19.0 L", "0.33 L"]
    assert [file_end(one, kinds) for one in kinds] == ["-keg", "-bottle"]
    keg, bottle = (float(strength_of(one).split("\u202f")[0]) for one in kinds)
    # 40 g in 3.96 L: 0.538 g of ethanol from a gram, of 0.789 g/mL.
    assert bottle - keg == pytest.approx(100 * 40 / 3.96 * 4 * 46.07 / 342.3 / 789, abs=0.11)
    made_card = card(batch, "A4")
    assert made_card.best_before == "2026-06-01 (keg 19), 2026-12-01 (bottle)"
    assert "(keg 19)" in made_card.strength and "(bottle)" in made_card.strength


def test_what_went_into_some_bottles_alone_leaves_the_balances_closed(made: Made) -> None:
    words = "packaged_volume: 38.5 L, containers: 2, pressure: 0.7 bar, beer_temperature: 6 C"
    plain = "{into: bottle, containers: 12, container_size: 0.5 L"
    added = "added: [{what: reservoir, amount: 0.5 L, to: container}]"
    batch = made(KEG + packed(f"{words}, also: [{plain}, {added}, priming_sugar: 30 g}}]"))
    volume = next(c for c in closures(batch) if c.title == "Fermenter to packed")
    # 40 L and 0.5 L of liquor, of which 1.5 L stay behind and 38.5 L are packed.
    assert volume.unexplained == pytest.approx(0.5, abs=1e-9)
    alcohol = carried(batch)[0]
    strength = nominal(batch.now["alcohol"])
    assert alcohol.went_in == pytest.approx(strength * 40, rel=1e-6)
    assert alcohol.came_out == pytest.approx(strength * 38, rel=1e-6)
    # A twelfth of the bottles is liquor, nothing of the kegs.
    beer = nominal(share_of_beer(batch.others_filled[0].brewed, batch.others_filled[0].now))
    assert beer == pytest.approx(5.5 / 6) and share_of_beer(batch.brewed, batch.now) == 1


def test_the_steps_from_plan_to_glass_end_at_the_beer_as_it_was_parted(made: Made) -> None:
    words = "packaged_volume: 38 L, containers: 38, priming_sugar: 200 g"
    batch = made(BOTTLE + packed(f"{words}, also: [{{into: keg, containers: 1, volume: 18 L}}]"))
    ended = explain(batch).replay
    assert ended.brewed["alcohol"] == pytest.approx(nominal(batch.now["alcohol"]), rel=1e-9)
    moved = dict((fact.key, change) for fact, change in ended.of("alcohol"))
    # 200 g in 19 L of bottles, of which the forecast had thought in 38 L; 5.1 % of the sugar goes
    # another way (L. Pasteur 1860).
    more = 0.949 * 200 * (1 / 19 - 1 / 38) * 4 * 46.07 / 342.3 / 789
    assert moved["parted"].size == pytest.approx(more, rel=0.005)


def test_a_container_of_nought_is_refused(tmp_path: Path) -> None:
    words = "also: [{into: bottle, containers: 4, container_size: 0 L, volume: 0 L}]"
    with pytest.raises(AssertionError) as refused:
        archive_with(HOUSE + KEG + packed(words), tmp_path / "house")
    assert str(refused.value).count("rule=") == 2


CASE = case_of("2026-10")
AMOUNT = st.floats(0.0, 1.0)


@settings(max_examples=60, deadline=None)
@given(
    litres=st.lists(st.floats(5.0, 50.0), min_size=1, max_size=4),
    in_all=AMOUNT, sugar_in_all=AMOUNT, data=st.data(),
)  # fmt: skip
def test_what_is_parted_adds_up(
    litres: list[float], in_all: float, sugar_in_all: float, data: Any
) -> None:
    """Beer and sugar of all kinds of containers together are what went in, however it is parted."""
    number = range(len(litres))
    own = [data.draw(AMOUNT) for _ in number]
    sugars = [data.draw(AMOUNT) for _ in number]

    def sugar(kilos: float, of: int | None) -> SugarDose:
        return SugarDose("cane", "Cane", kilos, 1.0, 1.0, 0.0, "container", filling=of)

    case = replace(
        CASE,
        sugars=(sugar(sugar_in_all, None), *(sugar(kilos, n) for n, kilos in enumerate(sugars))),
        liquor_added=(
            LiquorAdded("tap", "container", in_all, 20.0),
            *(LiquorAdded("tap", "container", more, 20.0, True, n) for n, more in enumerate(own)),
        ),
    )
    book = Forecast({"packaged_volume": sum(litres)})
    beer = found = 0.0
    for n, volume in enumerate(litres):
        share = ContainerShare(n, volume) if n else ContainerShare(0, None, sum(litres[1:]))
        part = replace(case, share=share)
        assert filled(part, book) == pytest.approx(volume)
        beer += volume * share_of_beer(part, book)
        found += sugar_beside(part, book)
    room = case.room_in(lambda filling: True)
    assert beer == pytest.approx(sum(litres) - room)
    assert found == pytest.approx(case.container_sugar)
