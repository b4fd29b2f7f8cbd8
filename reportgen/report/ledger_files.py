"""The ledger as files: pages, style, the few lines of script, the tables of exchange, the lists.

They are made in pieces of work that do not hang on each other, so that the cores can share them.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import PurePosixPath
from typing import Any

from reportgen.archive.build_ledger import Deferred, Made, Piece
from reportgen.archive.interchange import tables
from reportgen.archive.workers import portions
from reportgen.report.ledger import LedgerData, Link, findings_page, index_page, view_key
from reportgen.report.ledger_batch import batch_page
from reportgen.report.ledger_beers import beers_page
from reportgen.report.ledger_history import history_page
from reportgen.report.ledger_links import lots_page, yeast_page
from reportgen.report.ledger_list import PrintedList, list_page, list_pdf, lists
from reportgen.report.store_list import store_page

FOLDER = "ledger"

MOST_TOGETHER = 100
"""Pages of batches in one piece of work at most."""


def work(data: LedgerData, paper: str, look: str) -> tuple[Sequence[Piece], Sequence[Piece]]:
    """Return the work that the ledger is: what is shown and exchanged, then what is printed.

    ``look`` is the key of what turns a view into a page: the tool and the templates. With it and
    the view a page is known without being set.
    """
    return (
        [
            *long_pages(data, look),
            *(partial(_batches, data, look, ids) for ids in portions(data.order, MOST_TOGETHER)),
            partial(_tables, data),
        ],
        [partial(_list, data, printed_list, paper, look) for printed_list in lists(data)],
    )


def pages(data: LedgerData) -> Iterator[Made]:
    """Yield every page of the ledger with its name below the output folder."""
    pieces: list[Piece] = [*long_pages(data, ""), partial(_batches, data, "", data.order)]
    for piece in pieces:
        yield from (Made(deferred.name, deferred.make()) for deferred in piece())


def long_pages(data: LedgerData, look: str) -> list[Piece]:
    """Return the work of every page but those of the batches."""
    views: dict[str, Callable[[], object]] = {
        "index.html": lambda: index_page(data, papers(data)),
        "beers.html": lambda: beers_page(data),
        "yeast.html": lambda: yeast_page(data),
        "lots.html": lambda: lots_page(data),
        "history.html": lambda: history_page(data),
        "findings.html": lambda: findings_page(data),
    }

    if data.register.store.items:
        views["store.html"] = lambda: store_page(data)

    def fixed(name: str) -> Iterator[Made]:
        yield Made(f"{FOLDER}/{name}", _page(data, name))

    def page(name: str, view: Callable[[], object]) -> Iterator[Deferred]:
        yield _of_view(data, look, name, f"{name}.j2", view())

    return [
        *(partial(fixed, name) for name in ("ledger.css", "ledger.js")),
        *(partial(page, name, view) for name, view in views.items()),
    ]


def _batches(data: LedgerData, look: str, batches: Sequence[str]) -> Iterator[Deferred]:
    for batch in batches:
        view = batch_page(data, batch)
        yield _of_view(data, look, f"batch/{batch}.html", "batch.html.j2", view)


def _of_view(
    data: LedgerData, look: str, name: str, template: str, view: object
) -> Deferred:
    """Return a page, to be set when its view or its look has changed."""
    return Deferred(
        f"{FOLDER}/{name}", view_key(view, look), partial(_page, data, template, view=view)
    )


def _page(data: LedgerData, template: str, **names: Any) -> bytes:
    """Return a page as bytes, never held as one text as well: that of all batches is long."""
    from reportgen.report.render import environment

    written, tail = io.BytesIO(), b""
    env = environment(data.register.root / "templates")
    for text in env.get_template(f"ledger/{template}").generate(**names):
        part = tail + text.encode()
        tail = part[len(part.rstrip(b"\n")) :]
        written.write(part.removesuffix(tail))
    written.write(b"\n")
    return written.getvalue()


def _tables(data: LedgerData) -> Iterator[Made]:
    made = tables(data.summaries.values(), data.links, str(data.brewery.name))
    for name, table in zip(("ledger.csv", "ledger.json"), made, strict=True):
        yield Made(name, table)


def _list(data: LedgerData, printed_list: PrintedList, paper: str, look: str) -> Iterator[Deferred]:
    """Yield a printed list, to be made when what stands in it has changed."""
    view = list_page(data, printed_list)
    yield Deferred(
        printed_list.file,
        view_key(view, look, paper),
        partial(list_pdf, data, printed_list, view, paper),
    )


def papers(data: LedgerData) -> tuple[Link, ...]:
    """Return what else the ledger is made of: the printed lists, the tables for other programs."""
    printed = (
        Link(PurePosixPath(printed_list.file).name, printed_list.words)
        for printed_list in lists(data)
    )
    return (
        *printed,
        Link("../ledger.csv", "Table", "CSV, one line a batch"),
        Link("../ledger.json", "Everything", "JSON, for other programs"),
    )
