"""The printed lists of the ledger: one for a small house, one a year for a large one.

A year that is over does not change, so its list is printed once; and no list is ever so long that
setting it takes more memory than a year of brewing needs.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from reportgen.history.row import BatchRow
from reportgen.record.printed import Units
from reportgen.report.history_words import told_of
from reportgen.report.ledger import (
    Cell,
    Column,
    Frame,
    LedgerData,
    Table,
    batch_table,
    frame_of,
    lead_of,
    open_table,
    owner_name,
    plural,
)
from reportgen.report.ledger_links import TraceStep, lots_table, yeast_groups
from reportgen.report.make import NO_DAY

MOST_OPEN = 200
"""Open deviations in the list of a large house; those of a year stand in the list of the year."""

MOST_IN_ONE = 120
"""Batches that one list holds; with more of them there is a list for each year."""


class PrintedList(Struct, frozen=True):
    """One list: its file below the output folder, its year if it is of one, what to call it."""

    file: str
    year: str
    words: str


class YeastLines(Struct, frozen=True):
    """One yeast with its lines of descent."""

    name: str
    lines: tuple[TraceStep, ...]


class ListPage(Struct, frozen=True):
    """What stands in a list. Tables and groups that it does not have are None or empty."""

    frame: Frame
    lead: str
    batches: Table | None
    open: Table
    yeast: tuple[YeastLines, ...]
    history: Table | None
    lots: Table | None


def year_of(data: LedgerData, row: BatchRow) -> str:
    """Return the year that a batch is listed in; one that is not brewed yet in the last one."""
    return row.brewed[:4] or str((data.last_day or NO_DAY).year)


def lists(data: LedgerData) -> tuple[PrintedList, ...]:
    """Return the lists that there are, the whole ledger first, then the latest year."""
    whole = PrintedList("ledger/ledger.pdf", "", "Printed list")
    if len(data.rows) <= MOST_IN_ONE:
        return (whole,)
    years = sorted({year_of(data, s) for s in data.rows.values()}, reverse=True)
    return (whole, *(PrintedList(f"ledger/ledger-{y}.pdf", y, f"Printed list of {y}")
                     for y in years))


def list_page(data: LedgerData, printed_list: PrintedList) -> ListPage:
    """Return the view of one printed list."""
    if printed_list.year:
        return _year_page(data, printed_list.year)
    small = len(data.rows) <= MOST_IN_ONE
    lead = lead_of(data)
    still_open = open_table(data)
    if not small:
        lead += " Each year has a list of its own, with its batches, yeast and lots."
        if len(still_open.rows) > MOST_OPEN:
            lead += (
                f" Of {len(still_open.rows)} open deviations the {MOST_OPEN} worst stand here, "
                "all of them in the lists of their years."
            )
            still_open = replace(still_open, rows=still_open.rows[:MOST_OPEN])
    return ListPage(
        frame_of(data, "Ledger", ""),
        lead,
        batch_table(data) if small else None,
        still_open,
        tuple(YeastLines(g.name, g.lines) for g in yeast_groups(data)) if small else (),
        history_table(data),
        lots_table(data) if small else None,
    )


def _year_page(data: LedgerData, year: str) -> ListPage:
    mine = {b: s for b, s in data.rows.items() if year_of(data, s) == year}
    days = sorted(s.last_day for s in mine.values() if s.last_day)
    frame = frame_of(data, f"Ledger {year}", "", foot=f"Last entry {days[-1]}." if days else "")
    lots = {name for batch in mine for name in data.links.by_batch.get(batch, ())}
    return ListPage(
        frame,
        f"{plural(len(mine), 'batch', 'batches')} of {year}.",
        batch_table(data, mine),
        open_table(data, mine),
        tuple(_yeast_of(data, mine)),
        None,
        lots_table(data, lots, mine),
    )


def _yeast_of(data: LedgerData, mine: dict[str, BatchRow]) -> Iterator[YeastLines]:
    """Yield each yeast with the lines of descent that went through the batches of a year."""
    for group in yeast_groups(data):
        lines = tuple(line for line in group.lines if _goes_through(line, mine))
        if lines:
            yield YeastLines(group.name, lines)


def _goes_through(step: TraceStep, batches: dict[str, BatchRow]) -> bool:
    return step.batch.text in batches or any(_goes_through(c, batches) for c in step.children)


def history_table(data: LedgerData) -> Table:
    """Return the own history as numbers: one row a measure."""
    units: Units = data.units
    rows = []
    for series in data.history:
        told = told_of(series, units)
        chart, interval = series.chart, series.interval
        owner = owner_name(data.stock, series.measure.of, series.name)
        rows.append(
            (
                Cell(f"{series.measure.title}, {owner}"),
                Cell(told.unit),
                Cell(series.stated_text),
                Cell(str(len(series.counted))),
                Cell(told.number(chart.centre) if chart else ""),
                Cell(told.span(*chart.warning) if chart else ""),
                Cell(told.span(*chart.action) if chart else ""),
                Cell(told.span(interval.low, interval.high) if interval else ""),
            )
        )
    return Table(
        "history", "Own history",
        (Column("Measure"), Column("Unit"), Column("Stated", True), Column("Batches", True),
         Column("Mean", True), Column("Warning limits", True), Column("Action limits", True),
         Column("Next batch, 95 %", True)),
        tuple(rows), nothing="No batch has readings yet.",
    )  # fmt: skip


def list_html(data: LedgerData, view: ListPage, paper: str) -> str:
    """Return a printed list as HTML, for A4 or Letter."""
    from reportgen.report.render import html

    return html("ledger/list", view, paper, data.register.root)


def list_pdf(data: LedgerData, printed_list: PrintedList, view: ListPage, paper: str) -> bytes:
    """Return a printed list as PDF; the same bytes for the same view, house and look."""
    from reportgen.report.render import pdf

    title = f"Ledger {printed_list.year}".strip()
    return pdf(
        list_html(data, view, paper),
        title=f"{title}: {data.brewery.name}",
        identifier_source=title.lower().encode(),
        date=_date_of(data, printed_list),
        archive=data.register.root,
    )


def _date_of(data: LedgerData, printed_list: PrintedList) -> datetime.date:
    """Return the last day that the batches of a list know of."""
    days = [s.last_day for s in data.rows.values()
            if s.last_day and printed_list.year in ("", year_of(data, s))]
    return datetime.date.fromisoformat(max(days)) if days else data.last_day or NO_DAY
