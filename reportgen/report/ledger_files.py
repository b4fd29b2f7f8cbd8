"""The ledger as files: pages, style, the few lines of script, the printable list, the tables."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from reportgen.archive.interchange import as_csv, as_json
from reportgen.report.history_words import number, span, title_of, unit
from reportgen.report.ledger import (
    Cell,
    Column,
    Frame,
    LedgerData,
    Table,
    batch_table,
    findings_page,
    frame_of,
    index_page,
    open_table,
)
from reportgen.report.ledger_batch import batch_page
from reportgen.report.ledger_history import history_page
from reportgen.report.ledger_links import YeastGroup, lots_page, yeast_page
from reportgen.report.numbers import Units

FOLDER = "ledger"


@dataclass(frozen=True)
class ListPage:
    """The printed list: all batches, what is open, yeast, own history, lots."""

    frame: Frame
    lead: str
    batches: Table
    open: Table
    yeast: tuple[YeastGroup, ...]
    history: Table
    lots: Table


def pages(data: LedgerData) -> Iterator[tuple[str, bytes]]:
    """Yield every page of the ledger with its name below the output folder."""
    from reportgen.report.render import environment

    env = environment(data.archive.root / "templates")

    def page(template: str, **names: Any) -> bytes:
        text = str(env.get_template(f"ledger/{template}").render(**names))
        return (text.rstrip("\n") + "\n").encode()

    yield f"{FOLDER}/ledger.css", page("ledger.css")
    yield f"{FOLDER}/ledger.js", page("ledger.js")
    yield f"{FOLDER}/index.html", page("index.html.j2", view=index_page(data))
    yield f"{FOLDER}/yeast.html", page("yeast.html.j2", view=yeast_page(data))
    yield f"{FOLDER}/lots.html", page("lots.html.j2", view=lots_page(data))
    yield f"{FOLDER}/history.html", page("history.html.j2", view=history_page(data))
    yield f"{FOLDER}/findings.html", page("findings.html.j2", view=findings_page(data))
    for batch in data.summaries:
        view = batch_page(data, batch)
        yield f"{FOLDER}/batch/{batch}.html", page("batch.html.j2", view=view)


def tables(data: LedgerData) -> Iterator[tuple[str, bytes]]:
    """Yield the tables of exchange with their names below the output folder."""
    yield "ledger.csv", as_csv(data.summaries.values(), data.links)
    yield "ledger.json", as_json(data.summaries, data.links, str(data.brewery.name))


def list_page(data: LedgerData) -> ListPage:
    """Return the view of the printed list."""
    lead = index_page(data).lead
    return ListPage(
        frame_of(data, "Ledger", ""),
        lead,
        batch_table(data),
        open_table(data),
        yeast_page(data).groups,
        history_table(data),
        lots_page(data).lots,
    )


def history_table(data: LedgerData) -> Table:
    """Return the own history as numbers: one row a measure."""
    units: Units = data.units
    rows = []
    for series in data.history:
        kind, decimals = series.measure.kind, series.measure.decimals
        chart, interval = series.chart, series.interval
        rows.append(
            (
                Cell(title_of(series)),
                Cell(unit(units, kind)),
                Cell(series.stated_text),
                Cell(str(len(series.counted))),
                Cell(number(units, kind, decimals, chart.centre) if chart else ""),
                Cell(span(units, kind, decimals, *chart.warning) if chart else ""),
                Cell(span(units, kind, decimals, *chart.action) if chart else ""),
                Cell(span(units, kind, decimals, interval.low, interval.high)
                     if interval else ""),
            )
        )
    return Table(
        "history", "Own history",
        (Column("Measure"), Column("Unit"), Column("Stated", True), Column("Batches", True),
         Column("Mean", True), Column("Warning limits", True), Column("Action limits", True),
         Column("Next batch, 95 %", True)),
        tuple(rows), nothing="No batch has readings yet.",
    )  # fmt: skip


def list_html(data: LedgerData, paper: str) -> str:
    """Return the printed list as HTML, for A4 or Letter."""
    from reportgen.report.render import html

    return html("ledger/list", list_page(data), paper, data.archive.root)


def list_pdf(data: LedgerData, text: str) -> bytes:
    """Return the printed list as PDF from its HTML; the same bytes for the same HTML."""
    from reportgen.report.render import pdf

    return pdf(
        text,
        title=f"Ledger: {data.brewery.name}",
        identifier_source=b"ledger",
        date=data.last_day,
        archive=data.archive.root,
    )
