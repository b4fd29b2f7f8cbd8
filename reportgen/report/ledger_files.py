"""The ledger as files: pages, style, the few lines of script, the tables of exchange."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePosixPath
from typing import Any

from reportgen.archive.interchange import as_csv, as_json
from reportgen.report.ledger import LedgerData, Link, findings_page, index_page
from reportgen.report.ledger_batch import batch_page
from reportgen.report.ledger_history import history_page
from reportgen.report.ledger_links import lots_page, yeast_page
from reportgen.report.ledger_list import lists

FOLDER = "ledger"


def pages(data: LedgerData) -> Iterator[tuple[str, bytes]]:
    """Yield every page of the ledger with its name below the output folder."""
    from reportgen.report.render import environment

    env = environment(data.archive.root / "templates")

    def page(template: str, **names: Any) -> bytes:
        text = str(env.get_template(f"ledger/{template}").render(**names))
        return (text.rstrip("\n") + "\n").encode()

    yield f"{FOLDER}/ledger.css", page("ledger.css")
    yield f"{FOLDER}/ledger.js", page("ledger.js")
    yield f"{FOLDER}/index.html", page("index.html.j2", view=index_page(data, papers(data)))
    yield f"{FOLDER}/yeast.html", page("yeast.html.j2", view=yeast_page(data))
    yield f"{FOLDER}/lots.html", page("lots.html.j2", view=lots_page(data))
    yield f"{FOLDER}/history.html", page("history.html.j2", view=history_page(data))
    yield f"{FOLDER}/findings.html", page("findings.html.j2", view=findings_page(data))
    for batch in data.summaries:
        view = batch_page(data, batch)
        yield f"{FOLDER}/batch/{batch}.html", page("batch.html.j2", view=view)


def papers(data: LedgerData) -> tuple[Link, ...]:
    """Return what else the ledger is made of: the printed lists, the tables for other programs."""
    printed = (Link(PurePosixPath(one.file).name, one.words) for one in lists(data))
    return (
        *printed,
        Link("../ledger.csv", "Table", "CSV, one line a batch"),
        Link("../ledger.json", "Everything", "JSON, for other programs"),
    )


def tables(data: LedgerData) -> Iterator[tuple[str, bytes]]:
    """Yield the tables of exchange with their names below the output folder."""
    yield "ledger.csv", as_csv(data.summaries.values(), data.links)
    yield "ledger.json", as_json(data.summaries, data.links, str(data.brewery.name))
