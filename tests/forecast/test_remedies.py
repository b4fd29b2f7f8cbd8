"""Which row of a what-to-do table goes for a reading, and what its remedy puts in."""

from __future__ import annotations

import typing
from pathlib import Path

import pytest

from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast.actions import ActionTable, TableNumber, tables
from reportgen.forecast.remedies import VOLUMES, entry_of, remedy, spans
from reportgen.record.bind import slots
from reportgen.record.fields import Entry
from reportgen.record.load import load_archive
from reportgen.record.model.batch import Record
from reportgen.science.number import nominal

DEMO = Path(__file__).parents[2] / "batches"


@pytest.fixture(scope="module")
def batch() -> Assessment:
    archive = load_archive(DEMO)
    found = assess(archive, archive.batches["2026-10"])
    assert found is not None
    return found


@pytest.fixture(scope="module")
def by_figure(batch: Assessment) -> dict[str, ActionTable]:
    found = tables(batch.case, batch.planned)
    return {t.figure: t for t in found}


def row_for(table: ActionTable, batch: Assessment, reading: float) -> int | None:
    """Return the number of the row that goes for a reading; None for none."""
    goes = [n for n, (a, b) in enumerate(spans(table, batch.planned)) if a < reading <= b]
    assert len(goes) <= 1
    return goes[0] if goes else None


def test_a_reading_has_the_nearest_row_on_its_side(
    batch: Assessment, by_figure: dict[str, ActionTable]
) -> None:
    """By hand: rows at 65, 66, 67 and 69, 70, 71 degC around 68."""
    table = by_figure["mash_temperature"]
    rows = {64.4: None, 64.6: 0, 66.4: 1, 66.6: 2, 67.9: 2, 68.1: 3, 69.6: 4, 71.4: 5, 71.6: None}
    assert {at: row_for(table, batch, at) for at in rows} == rows


def test_a_table_read_hot_goes_by_the_corrected_volume(
    batch: Assessment, by_figure: dict[str, ActionTable]
) -> None:
    table = by_figure["cast_out_volume"]
    first = table.rows[0][0]
    assert isinstance(first, TableNumber)
    low, high = spans(table, batch.planned)[0]
    # Water at 97 degC takes up four parts in a hundred more than at 20 degC.
    assert low < first.value / 1.04 < high < nominal(batch.planned["cast_out_volume"])


def test_up_to_a_temperature_and_from_there_on_never(
    batch: Assessment, by_figure: dict[str, ActionTable]
) -> None:
    """By hand: planned at 18 degC, with rows up to 20, 23 and 28, and one above 40."""
    table = by_figure["pitch_temperature"]
    rows = {17.0: None, 19.0: 0, 20.0: 0, 20.1: 1, 28.0: 2, 35.0: None, 41.0: 3}
    assert {at: row_for(table, batch, at) for at in rows} == rows


def test_every_volume_of_a_table_can_be_written_down(
    batch: Assessment, by_figure: dict[str, ActionTable]
) -> None:
    record, stock = batch.record, batch.stock
    brewing = ("mash_temperature", "mash_ph", "kettle_volume", "kettle_gravity", "cast_out_volume",
               "original_gravity")  # fmt: skip
    for figure in brewing:
        table = by_figure[figure]
        for number, row in enumerate(table.rows):
            dose = row[1]
            made = remedy(table, number, batch.case.boiling, record, stock)
            if isinstance(dose, TableNumber) and dose.kind in VOLUMES:
                assert made is not None and made.amount is dose, (figure, number)
                assert made.what in stock.acids or made.what in batch.brewery.liquors
            else:
                # Boiling longer adds nothing.
                assert made is None, (figure, number)
    hot = remedy(by_figure["mash_temperature"], 0, 100.0, record, stock)
    cold = remedy(by_figure["mash_temperature"], 5, 100.0, record, stock)
    assert hot is not None and hot.temperature == pytest.approx(99.0, abs=0.1)
    assert cold is not None and cold.temperature == 20.0


def test_every_row_of_every_table_has_an_entry_of_the_record(batch: Assessment) -> None:
    """For a keg and for bottles, with and without a mash: none of what is done goes unwritten."""
    archive = load_archive(DEMO)
    seen = set()
    for name in ("2026-10", "2026-02", "2026-05", "2025-03"):
        found = assess(archive, archive.batches[name])
        assert found is not None
        for table in tables(found.case, found.planned):
            for number in range(len(table.rows)):
                *section, key = entry_of(table, number)
                entry: type[Entry] = Record
                for step in section:
                    entry = next(
                        inner for slot in slots(entry) if slot.key == step
                        for inner in (slot.hint, *typing.get_args(slot.hint))
                        if isinstance(inner, type) and issubclass(inner, Entry)
                    )
                assert key in {slot.key for slot in slots(entry)}, (table.figure, number)
                seen.add((table.figure, key))
    # What only takes time has the time as its entry.
    assert {("kettle_gravity", "ended"), ("cast_out_volume", "ended"), ("pitch_temperature", "at"),
            ("original_gravity", "ended"), ("mash_temperature", "added")} <= seen
