"""The pages of beers: batches of a kind in a row, and the chart of what leaves the plan."""

from __future__ import annotations

from pathlib import Path

import pytest
from houses import ledger_data, summary

from reportgen.history.row import BatchRow, DeviationValue, TastingValue, row_of
from reportgen.loading import load_archive
from reportgen.record.finding import Severity
from reportgen.report.ledger_beers import beers_page, before, kind_of, kinds
from reportgen.report.off_plan_chart import MOST_BATCHES, off_plan_chart, off_plan_lines

DEMO = Path(__file__).parents[2] / "batches"


def row(batch: str, **fields: object) -> BatchRow:
    return row_of(summary(batch, **{"brewed": f"2026-01-{int(batch[-2:]):02d}", **fields}))


def off(figure: str, severity: str = "minor", *also: str) -> DeviationValue:
    return DeviationValue(figure, Severity(severity), True, 0.001, also)


def test_a_kind_is_the_word_before_the_comma() -> None:
    assert kind_of(row("2026-01", beer="Pale  ale, dry yeast")) == "Pale ale"
    assert kind_of(row("2026-01", beer="", name="Fog")) == "Fog"


def test_a_hyphen_or_a_capital_makes_no_other_kind() -> None:
    beers = ("Pale ale", "pale-ale, dry", "pale  Ale", "pale lager")
    rows = {f"2026-0{n}": row(f"2026-0{n}", beer=beer) for n, beer in enumerate(beers, 1)}
    assert sorted(map(len, kinds(rows).values())) == [1, 3]


def test_no_day_is_made_up_where_none_is_written() -> None:
    planned = {"2026-01": row("2026-01", brewed="", last_day="")}
    for rows, foot in (({}, "No batch yet."), (planned, "No day written yet.")):
        assert beers_page(ledger_data(load_archive(DEMO), rows)).frame.foot == foot


def test_a_batch_repeats_what_its_plan_starts_from_or_the_last_of_its_name() -> None:
    first, other, third = row("2026-01", name="A"), row("2026-02", name="B"), row("2026-03")
    assert before(row("2026-04", name="x", like="2026-01"), [first, other]) == first
    assert before(row("2026-04", name="b"), [first, other, third]) == other
    # A plan taken over from another kind of beer is not a repetition of anything here.
    assert before(row("2026-04", name="A", like="2025-09"), [first, other]) is None


def test_batches_of_a_kind_stand_in_a_row_and_say_what_changed() -> None:
    parts = (("boil", "1"), ("grist", "1"), ("notes", "1"))
    rows = [
        row("2026-01", name="Fog", beer="pale ale", plan_parts=parts),
        row("2026-02", name="Coal", beer="stout", plan_parts=parts),
        row("2026-03", name="Fog", beer="Pale ale, again", like="2026-01",
            plan_parts=(("boil", "2"), ("grist", "1"), ("notes", "2")),
            tastings=(TastingValue("2026-05-01", 3, (("bitter", 4.0), ("malty", 2.0))),)),
        row("2026-04", name="Fog", beer="pale ale", brewed="", plan_parts=parts),
    ]
    page = beers_page(ledger_data(load_archive(DEMO), {r.id: r for r in rows}))
    assert [group.kind for group in page.groups] == ["Pale ale", "Stout"]
    (pale, stout) = page.groups
    assert [cells[0].text for cells in pale.table.rows] == ["2026-01", "2026-03", "2026-04"]
    assert [cells[-1].text for cells in pale.table.rows] == [
        "", "as 2026-01 but for boil", "as 2026-03 but for boil"
    ]
    assert pale.table.rows[1][-2].text == "2026-05-01: bitter 4.0, malty 2.0"
    assert len(stout.table.rows) == 1
    # More columns than these are set as blocks, and no longer stand in a row.
    assert len(pale.table.columns) <= 10


def test_the_chart_names_what_left_the_plan_in_most_batches() -> None:
    rows = [
        row("2026-01", deviations=(off("final_gravity"), off("mash_ph", "note"))),
        row("2026-02", deviations=(off("final_gravity", "major"), off("mash_temperature"))),
        row("2026-03", deviations=(off("kettle_gravity", "minor", "final_gravity"),)),
        row("2026-04", brewed="", deviations=(off("colour"),)),
    ]
    lines = off_plan_lines(rows[:3])
    # A note changes nothing; what weighed more comes first among those of one number.
    assert [line.key for line in lines] == ["final_gravity", "kettle_gravity", "mash_temperature"]
    assert lines[0].batches == {
        "2026-01": Severity.MINOR, "2026-02": Severity.MAJOR, "2026-03": Severity.MINOR,
    }
    chart = off_plan_chart(rows)
    assert chart is not None
    assert chart.words.startswith("Off plan in the last 3 batches brewed: Final gravity in 3")
    assert "Colour" not in chart.words


@pytest.mark.parametrize("count", [0, 2])
def test_few_batches_have_no_chart(count: int) -> None:
    rows = [row(f"2026-{n:02d}", deviations=(off("colour"),)) for n in range(1, count + 1)]
    assert off_plan_chart(rows) is None


def test_only_the_latest_batches_are_drawn() -> None:
    rows = [
        row(f"2026-{n:02d}", brewed=f"20{n:02d}-01-01", deviations=(off("colour"),))
        for n in range(1, 61)
    ]
    chart = off_plan_chart(rows)
    assert chart is not None and f"Colour in {MOST_BATCHES}" in chart.words
    assert "2026-60" in chart.svg and "2026-30<" not in chart.svg
