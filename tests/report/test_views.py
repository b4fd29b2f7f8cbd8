"""What the documents say, before it is set in type."""

from __future__ import annotations

import datetime
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from printed import ARCHIVE, BREWED, assessed

from reportgen.assessment.assess import Assessment
from reportgen.assessment.balance import closures, extract_steps
from reportgen.assessment.explained import explain
from reportgen.forecast.actions import ActionTable, TableNumber
from reportgen.forecast.figures import FIGURES, READ
from reportgen.record.bind import slots
from reportgen.record.each_value import member_names
from reportgen.record.model.later import Harvest
from reportgen.record.printed import Units
from reportgen.report.batch_record import RecordView, batch_record
from reportgen.report.cautions import CAUTIONS, DANGER
from reportgen.report.cellar import cellar_sheet
from reportgen.report.figure_text import listed
from reportgen.report.make import date_of
from reportgen.report.packaging import packaging_sheet
from reportgen.report.parts import Raw
from reportgen.report.sheet import SheetView, brew_day_sheet
from reportgen.report.tables import hydrometer_lookup, todo_of, volume_lookup
from reportgen.report.tasting import Evening, evening_sheets, tasting_sheet
from reportgen.report.weigh_out import WeighOutView, weigh_out_sheet
from reportgen.report.working import working
from reportgen.science.density import hydrometer_correction
from reportgen.science.method import METHODS
from reportgen.verbs.blanks import as_yaml


@pytest.fixture(scope="module")
def sheet(brewed: Assessment) -> SheetView:
    return brew_day_sheet(brewed, "A4", 3)


@pytest.fixture(scope="module")
def weighing(brewed: Assessment) -> WeighOutView:
    return weigh_out_sheet(brewed, "A4", 3)


@pytest.fixture(scope="module")
def record(brewed: Assessment) -> RecordView:
    return batch_record(brewed, "A4")


def texts(value: object) -> Iterator[str]:
    """Yield every text of a view."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, (tuple, list)):
        for item in value:
            yield from texts(item)
    else:
        for name in member_names(value):
            yield from texts(getattr(value, name))


def test_a_volume_that_nobody_read_is_not_told_as_fermented(tmp_path: Path) -> None:
    """The day may have been broken off before: a forecast is nothing that happened."""
    folder = tmp_path / "archive"
    shutil.copytree(ARCHIVE, folder)
    record = folder / f"2026/{BREWED}.yaml"
    text = record.read_text(encoding="utf-8")
    assert "into the fermenter" in batch_record(assessed(BREWED, folder), "A4").facts
    left_out = re.sub(r"(?<=\n    )fermenter_volume: .*", "fermenter_volume: NOT RECORDED", text)
    assert left_out != text
    record.write_text(left_out, encoding="utf-8")
    assert "fermenter" not in batch_record(assessed(BREWED, folder), "A4").facts


def test_every_reading_has_a_row_on_a_sheet(brewed: Assessment, sheet: SheetView) -> None:
    rows = [row for step in sheet.steps for row in step.rows]
    rows += cellar_sheet(brewed, "A4").rows
    rows += packaging_sheet(brewed, "A4").sides[0].rows
    # A keg has no priming sugar, no top-up and no dilution is planned, nothing is decided by the
    # wort's pH, and no acid goes into the sparge liquor.
    without = {"priming_sugar", "top_up_liquor", "dilution_liquor", "wort_ph", "sparge_ph"}
    assert {row.key for row in rows} == {f.key for f in READ} - without


def test_rows_are_numbered_in_one_run(weighing: WeighOutView, sheet: SheetView) -> None:
    numbers = [row.number for group in weighing.groups for row in group.rows]
    numbers += [row.number for step in sheet.steps for row in step.rows]
    assert numbers == [str(n) for n in range(1, len(numbers) + 1)]


def test_ranges_of_the_sheet_are_narrowed_by_the_instrument(sheet: SheetView) -> None:
    row = next(r for step in sheet.steps for r in step.rows if r.key == "mash_temperature")
    # House limits 65.0 to 67.0; the probe is good to ±0.4 and reads to 0.1, so to about ±0.41.
    assert (row.expect, row.ok, row.unit) == ("66.0\u202f°C", "65.5–66.5", "°C")
    assert row.todo == "T2"


def test_a_stop_limit_is_printed_as_such(sheet: SheetView) -> None:
    row = next(r for step in sheet.steps for r in step.rows if r.key == "last_runnings_gravity")
    assert (row.expect_label, row.expect, row.ok) == ("Stop at", "1.008", "1.008 or more")


def test_weigh_out_has_plan_and_lot(weighing: WeighOutView) -> None:
    first = weighing.groups[0].rows[0]
    assert (first.name, first.plan, first.unit, first.lot) == ("Pale malt", "6.30", "kg", "M-1")
    acid = next(r for g in weighing.groups for r in g.rows if "acid" in r.name)
    assert (acid.name, acid.plan, acid.unit) == ("Lactic acid 80\u202f%", "4.0", "mL")


def test_additions_stand_in_the_order_of_the_clock(sheet: SheetView) -> None:
    boil = next(step for step in sheet.steps if step.title == "Boil")
    assert [(a.plus, a.what) for a in boil.additions] == [
        ("+ 0 min", "Fuggle"),
        ("+ 50 min", "Goldings"),
        ("+ 60 min", "Heat off"),
    ]


def test_each_pause_has_five_to_nine_items(
    brewed: Assessment,
    hostile: Assessment,
    in_casks: Assessment,
    weighing: WeighOutView,
    sheet: SheetView,
) -> None:
    pauses = [weighing.hold_point, *(s.hold_point for s in sheet.steps if s.hold_point)]
    pauses += [
        packaging_sheet(batch, "A4").sides[0].hold_point for batch in (brewed, hostile, in_casks)
    ]
    assert [p.title for p in pauses] == [
        "before heat",
        "before the boil",
        "before the yeast",
        *["before sealing"] * 3,
    ]
    assert all(5 <= len(p.items) <= 9 for p in pauses)


def test_cautions_stand_above_their_step(weighing: WeighOutView, sheet: SheetView) -> None:
    by_step = {step.title: {c.key for c in step.cautions} for step in sheet.steps}
    assert "hot_liquor" in by_step["Mash"]
    assert "boil_over" in by_step["Boil"]
    assert by_step["Run-off"] == {"hot_transfer"}
    assert by_step["Cool and pitch"] == {"cooling"}
    treatment = next(g for g in weighing.groups if g.cautions)
    assert [c.key for c in treatment.cautions] == ["chemicals"]
    assert [c.key for c in weighing.cautions] == ["allergens", "lifting", "malt_dust"]
    # Above the hold point before heat, the gravest first.
    assert [c.key for c in weighing.heat] == ["burner", "electric", "steam"]


def test_danger_is_kept_for_three() -> None:
    assert [c.key for c in CAUTIONS.values() if c.signal == DANGER] == [
        "burner",
        "room_gas",
        "entry",
    ]


def test_sulfite_is_named_as_hazard_and_allergen(hostile: Assessment) -> None:
    view = weigh_out_sheet(hostile, "A4")
    assert "sulfite" in {c.key for c in view.cautions}
    assert "sulfite" in view.allergens


def test_hydrometer_lookup_is_the_published_correction() -> None:
    table = hydrometer_lookup(1.045, 20.0, 0.001, Units())
    assert len(table.rows) <= 8
    for sample, add in table.rows:
        degrees = float(sample.split("\u202f")[0])
        expected = float(hydrometer_correction(1.045, degrees, 20.0)) - 1.045
        assert float(add.replace("\u2212", "-")) == pytest.approx(expected, abs=0.00005)


def test_no_interpolation_is_needed_in_a_lookup() -> None:
    uncertainty = 0.001
    table = hydrometer_lookup(1.045, 20.0, uncertainty, Units())
    added = [float(add.replace("\u2212", "-")) for _, add in table.rows]
    # Half a step from either column the correction is wrong by less than U/2.
    steps = [b - a for a, b in zip(added, added[1:], strict=False)]
    assert max(steps) / 2 <= uncertainty / 2 + 0.00005


def test_volume_lookup_grows_with_heat() -> None:
    rows = volume_lookup((44.0, 48.0), Units()).rows
    assert rows[0] == ("20\u202f°C", "44.0–48.0")
    lows = [float(text.split("–")[0]) for _, text in rows]
    assert lows == sorted(lows)
    # Water is 4 % larger near boiling than at 20 °C (any steam table).
    assert lows[-1] == pytest.approx(44.0 * 1.04, abs=0.2)


def test_words_that_repeat_are_said_once() -> None:
    table = ActionTable(
        "mash_temperature",
        "T",
        ("a", "b"),
        (
            (TableNumber(64.0, "temperature", 1), "same"),
            (TableNumber(65.0, "temperature", 1), "same"),
            (TableNumber(66.0, "temperature", 1), "other"),
        ),
        "wait",
    )
    rows = todo_of(table, "T1", Units()).rows
    assert [len(r) for r in rows] == [2, 1, 2]
    assert (rows[0][1].text, rows[0][1].rows) == ("same", 2)


def test_tables_can_be_given(brewed: Assessment) -> None:
    table = ActionTable("mash_ph", "Only this", ("a",), (("x",),), "stop")
    view = brew_day_sheet(brewed, "A4", tables=[table])
    assert [(t.mark, t.title) for s in view.steps for t in s.todos] == [("T1", "Only this")]


def test_cellar_has_a_row_a_day(brewed: Assessment) -> None:
    days = cellar_sheet(brewed, "A4").days
    assert [d.title for d in days] == [f"Day {n}" for n in range(1, 8)]
    assert days[0].date == "02-02"
    values = [float(d.expect) for d in days]
    assert values == sorted(values, reverse=True)
    for day in days:
        low, high = (float(part) for part in day.band.split("–"))
        assert low < float(day.expect) <= high


def test_each_container_has_its_own_packaging_sheet(
    brewed: Assessment, hostile: Assessment, in_casks: Assessment
) -> None:
    sheets = [packaging_sheet(b, "A4") for b in (brewed, hostile, in_casks)]
    (keg,), (bottle,), (cask,) = (sheet.sides for sheet in sheets)
    assert [r.key for r in keg.rows] == ["packaged_volume", "beer_temperature", "pressure"]
    assert "priming_sugar" in [r.key for r in bottle.rows]
    assert [c.key for c in keg.cautions] == ["room_gas", "pressure"]
    assert [c.key for c in bottle.cautions] == ["bottles", "glass"]
    assert [c.key for c in cask.cautions] == ["casks"]
    assert any("keystone" in item for item in cask.hold_point.items)
    assert not any("ottle" in item for item in (*cask.hold_point.items, *keg.hold_point.items))
    sugar = next(r for r in bottle.rows if r.key == "priming_sugar")
    assert sugar.unit == "g"
    assert len(sheets[0].gate_rows) == 2


def evening(batch: Assessment, test: str, tasters: int = 4, day: str = "2026-12-05") -> Any:
    both = [batch] if test == "scores" else [batch, batch]
    return evening_sheets(both, Evening(day, tasters, test), "A4")


@pytest.mark.parametrize("test", ["scores", "triangle", "paired", "ranking"])
def test_an_evening_has_a_pouring_side_and_one_a_taster(brewed: Assessment, test: str) -> None:
    view = evening(brewed, test)
    assert view.pouring is not None and len(view.sides) == 4
    known = {code for code, _ in view.pouring.glasses}
    for side, (number, order, _) in zip(view.sides, view.pouring.orders, strict=True):
        assert side.number == number and side.codes == order and set(order) <= known
    # Printed again it is the same; another evening has other codes.
    assert evening(brewed, test) == view
    assert evening(brewed, test, day="2026-12-06").pouring.glasses != view.pouring.glasses


def test_the_different_glass_is_where_the_pouring_sheet_says(brewed: Assessment) -> None:
    view = evening(brewed, "triangle", 24)
    beer = dict((code, "AABB"[n]) for n, (code, _) in enumerate(view.pouring.glasses))
    for _, order, different in view.pouring.orders:
        letters = [beer[code] for code in order]
        odd = letters[("left", "middle", "right").index(different)]
        assert letters.count(odd) == 1 and len(set(order)) == 3
    # ISO 4120, table of the least number of right answers at 5 %: 24 assessors 13.
    assert dict(view.pouring.needed)["24"] == "13"


@pytest.mark.parametrize(("test", "count", "tasters"), [
    ("triangle", 1, 6), ("paired", 3, 6), ("ranking", 1, 6), ("scores", 7, 6), ("scores", 1, 2),
    ("scores", 1, 25),
])  # fmt: skip
def test_an_evening_that_cannot_be_held_says_so(
    brewed: Assessment, test: str, count: int, tasters: int
) -> None:
    with pytest.raises(ValueError, match="not"):
        evening_sheets([brewed] * count, Evening("2026-12-05", tasters, test), "A4")


def test_a_tasting_sheet_names_no_beer(brewed: Assessment, made: object) -> None:
    from reportgen.report.render import html

    text = html("tasting_sheet", tasting_sheet(brewed, "A4"), "A4").split("<body>")[1]
    assert "Shed Bitter" not in text
    assert "2026-01" not in text


def test_the_answer_comes_first(record: RecordView) -> None:
    assert record.sentence == "Released with 1 minor deviation, closed."
    counts = {c.mark.words: c.number for c in record.counts}
    assert counts["off plan"] == "1"
    assert int(counts["not recorded"]) >= 1
    assert [h.title for h in record.headlines] == [
        FIGURES[key].title
        for key in (
            "original_gravity", "final_gravity", "alcohol", "bitterness", "colour", "carbonation",
            "packaged_volume",
        )
    ]
    assert record.release == "Released on 2026-02-20 by AB, A. Brewer"


def test_figures_of_one_cause_are_listed_so_that_each_can_be_told() -> None:
    """A title's own comma would part it in two; one alone keeps its whole title."""
    titles = [FIGURES[key].title for key in ("kettle_volume", "original_gravity", "sparge_ph")]
    assert listed(titles[:1]) == "Kettle volume, full, cold"
    assert listed(titles) == "Kettle volume, original gravity, sparge pH"
    assert listed(["Carbonation, in beer (keg)", "Colour"], in_sentence=True) == (
        "carbonation (keg), colour"
    )
    short = [listed([figure.title, "x"]) for figure in FIGURES.values() if figure.path]
    assert len(short) == len(set(short))


def test_only_what_was_read_is_counted(brewed: Assessment, record: RecordView) -> None:
    judged = [r for r in brewed.results if r.verdict and not (r.actual and r.actual.derived_from)]
    assert sum(int(c.number) for c in record.counts) == len(judged)


def test_a_deviation_tells_what_it_did(record: RecordView) -> None:
    deviation = record.deviations[0]
    assert (deviation.title, deviation.is_open) == ("Mash temperature", False)
    (shown,) = deviation.shown
    assert "69.2\u202f°C ±0.5; expected 66.0\u202f°C" in shown.summary
    assert "+3.2, more than the instrument could explain" in shown.summary
    assert shown.off == "+3.2\u202fK"
    assert deviation.effect.startswith("final gravity +0.0")
    labels = [item.label for item in deviation.items]
    assert labels == [
        "What happened", "Cause", "Correction", "Corrective action",
        "Other batches", "Disposition",
    ]
    assert "Strike too hot (known)" in [item.value for item in deviation.items]


def test_a_changed_plan_shows(record: RecordView) -> None:
    assert "changed after the sheet was issued: the sheet has 00000000" in record.plan_note


def test_a_record_without_issued_does_not_say_that_no_sheet_was_printed(
    brewed: Assessment,
) -> None:
    silent = replace(brewed, record=brewed.record.with_members(issued=None))
    note = batch_record(silent, "A4").plan_note
    assert note.endswith("The record does not say which sheet was used (issued:).")


def test_corrected_values_are_listed(record: RecordView) -> None:
    assert [tuple(c) for c in record.corrections] == [
        (
            "brew day, mash, mash temperature",
            "62.9 C",
            "69.2 C",
            "CD, C. Checker",
            "2026-02-02",
            "figures swapped in typing",
        )
    ]
    line = next(one for g in record.groups for one in g.lines if one.title == "Mash temperature")
    assert line.note == "†"


def test_not_done_is_neither_missing_nor_zero(record: RecordView) -> None:
    line = next(one for g in record.groups for one in g.lines if one.title == "Sparge liquor")
    assert (line.actual, line.mark.shape, line.mark.words) == ("—", "", "not done")
    assert line.note == "not done because the pump failed"


def test_an_ingredient_nobody_weighed_is_shown(record: RecordView) -> None:
    lots = {line.item: line for line in record.lots}
    assert lots["Pale malt"].lot == "M-1"
    assert "best before 2027-01-01" in lots["Pale malt"].note
    assert (lots["Fuggle"].weighed, lots["Fuggle"].note) == ("—", "not written down")


def test_the_volumes_add_up(brewed: Assessment) -> None:
    for closure in closures(brewed):
        total = closure.came_out + closure.known_loss + closure.unexplained
        assert total == pytest.approx(closure.went_in, abs=1e-9)
    named = {c.title: c.measured for c in closures(brewed)}
    # The sparge was not measured, so the first stage cannot be closed.
    assert named == {
        "Liquor to kettle full": False,
        "Kettle full to cast-out": True,
        "Cast-out to fermenter": True,
        "Fermenter to packed": True,
    }


def test_extract_never_grows_in_the_plan(brewed: Assessment) -> None:
    steps = extract_steps(brewed)
    planned = [step.planned for step in steps]
    assert planned[0] == 1.0
    assert all(b <= a + 1e-9 for a, b in zip(planned, planned[1:], strict=False))


def test_every_expected_number_has_its_working(brewed: Assessment) -> None:
    groups = working(brewed, explain(brewed))
    lines = [line for group in groups for line in group.lines]
    titles = {line.title for line in lines}
    assert {FIGURES[key].title for key in brewed.planned.expected} <= titles
    for group in groups:
        if group.formula:
            assert group.source
            assert group.inputs
    for expected in brewed.planned.expected.values():
        if expected.method:
            assert expected.method in METHODS


def test_working_gives_the_result_unrounded(brewed: Assessment) -> None:
    expected = brewed.planned.expected["strike_temperature"]
    line = next(
        one for group in working(brewed, explain(brewed)) for one in group.lines
        if one.title == "Strike temperature of the liquor"
    )
    assert float(line.result) == pytest.approx(expected.value, rel=1e-7)
    assert line.printed == f"{expected.value:.1f}\u202f°C"
    assert any(put.startswith("grist = ") for put in line.puts)


def test_a_record_is_dated_by_itself(brewed: Assessment) -> None:
    # The tasting is the last day it knows of; best before lies ahead and does not count.
    assert date_of(brewed.record) == datetime.date(2026, 3, 1)


def test_us_house_prints_us_units(in_gallons: Assessment) -> None:
    view = brew_day_sheet(in_gallons, "Letter")
    rows = {row.key: row for step in view.steps for row in step.rows}
    assert rows["mash_temperature"].expect == "150.8\u202f°F"
    assert rows["mash_temperature"].ok == "149.8–151.8"
    assert rows["kettle_volume"].unit == "gal"
    weighing = weigh_out_sheet(in_gallons, "Letter")
    # Said on each sheet that has a gallon.
    note = "gal is the US gallon, 3.785 L."
    assert weighing.unit_note == note and note in view.steps[0].doing
    doses = {r.name: r.unit for g in weighing.groups for r in g.rows}
    assert doses == {
        "Pale malt": "lb",
        "Crystal malt": "lb",
        "Gypsum": "g",
        "Lactic acid 80\u202f%": "mL",
        "Fuggle": "oz",
        "Goldings": "oz",
    }
    assert "SRM" in next(a.value for a in weighing.aims if a.label == "Colour")
    record = batch_record(in_gallons, "Letter")
    line = next(one for g in record.groups for one in g.lines if one.title == "Mash temperature")
    assert (line.plan, line.actual, line.difference) == ("150.8", "156.6", "+5.8")
    # The permanent record names the gallon in full.
    assert {one.unit for g in record.groups for one in g.lines if one.title == "Mash liquor"} == {
        "US gal"
    }


def test_views_are_text_only(brewed: Assessment) -> None:
    for make in (
        weigh_out_sheet,
        brew_day_sheet,
        cellar_sheet,
        packaging_sheet,
        tasting_sheet,
        batch_record,
    ):
        stack: list[object] = [make(brewed, "A4")]
        while stack:
            value = stack.pop()
            if isinstance(value, tuple):
                stack.extend(value)
            elif isinstance(value, Raw):
                # The numbers that a page is written on with; no template prints them.
                continue
            elif names := member_names(value):
                stack.extend(getattr(value, name) for name in names)
            else:
                assert isinstance(value, (str, int, bool)) or value is None, value
                assert not isinstance(value, float)


def test_a_batch_stands_against_those_it_comes_from_and_no_others(brewed: Assessment) -> None:
    """Whatever else lies in the archive, the record says the same."""
    from pathlib import Path

    from reportgen.assessment.assess import assess
    from reportgen.loading import load_archive
    from reportgen.report.earlier_chart import earlier, earlier_chart

    assert earlier_chart(brewed) is None
    archive = load_archive(Path(__file__).parents[2] / "batches")
    batch = assess(archive, archive.batches["2025-05"])
    assert batch is not None
    # Its yeast came from 2025-04, that from 2025-03, and that from 2025-01.
    assert [b.id for b in earlier(batch)] == ["2025-01", "2025-03", "2025-04"]
    chart, again = earlier_chart(batch), earlier_chart(batch)
    assert chart is not None and chart == again
    assert "original gravity 1.0488, before 1.0343 to 1.0443" in chart.words
    assert "before" in str(chart.svg).split("<title>")[1].split("</title>")[0]


def test_flavours_of_three_tastings_are_drawn_with_their_numbers(brewed: Assessment) -> None:
    from reportgen.report.flavour_chart import flavour_chart

    assert flavour_chart(brewed) is None, "one tasting is told in words"
    (session,) = brewed.record.tasting
    record = brewed.record.with_members(tasting=(session,) * 3)
    thrice = replace(brewed, record=record)
    chart = flavour_chart(thrice)
    assert chart is not None and chart == flavour_chart(thrice)
    assert chart.words.startswith("Mean scores of 2026-03-01: malty 4.0, bitter 3.5.")
    assert "4.0 → 4.0" in str(chart.svg) and "3.5 → 3.5" in str(chart.svg)


def test_a_harvest_has_a_blank_for_all_that_the_next_plan_takes_of_it(brewed: Assessment) -> None:
    """Each field of a harvest but the note; the day and time stand in one blank."""
    fields = {slot.key for slot in slots(Harvest)} - {"note"}
    labels = [(b.label, b.unit) for b in cellar_sheet(brewed, "A4").harvest]
    assert labels == [
        ("Harvest", "L"), ("day", ""), ("at", "°C"), ("viable", "%"),
        ("count", "billion/mL"),
    ]  # fmt: skip
    assert len(labels) == len(fields)
    for key in fields:
        assert f" {key}: " in as_yaml(brewed.record, []).replace("{", " ")
