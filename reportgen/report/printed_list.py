"""A list to print that is not of the ledger: a title, a sentence, some tables."""

from __future__ import annotations

import datetime
from pathlib import Path

from msgspec import Struct

from reportgen.record.model.brewery import Brewery
from reportgen.report.ledger import Frame, Table


class PrintedTables(Struct, frozen=True):
    """What stands in a list; ``note`` stands at the foot of each side."""

    frame: Frame
    lead: str
    tables: tuple[Table, ...]
    note: str


def view_of(
    brewery: Brewery, title: str, lead: str, tables: tuple[Table, ...], note: str, foot: str
) -> PrintedTables:
    """Return the view of a list."""
    frame = Frame(title, str(brewery.name), str(brewery.language or "en"), "", "", foot)
    return PrintedTables(frame, lead, tables, note)


def list_pdf(view: PrintedTables, paper: str, root: Path, day: datetime.date | None) -> bytes:
    """Return a list as PDF; the same bytes for the same view and look."""
    from reportgen.report.render import html, pdf

    return pdf(
        html("printed_list", view, paper, root),
        title=f"{view.frame.title}: {view.frame.house}",
        identifier_source=view.frame.title.lower().encode(),
        date=day or datetime.date(2000, 1, 1),
        archive=root,
    )
