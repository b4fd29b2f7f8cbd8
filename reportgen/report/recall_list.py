"""Where the beer of a lot or a batch went: the list for a recall.

It has who got what, so it is personal data: it is made only when it is asked for, and the pages of
the ledger, which may be published, have no names.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reportgen.report.ledger import Cell, Column, Table
from reportgen.store.takings import BatchTakings, Sent
from reportgen.store.words import amount_in

PRIVATE = (
    "Names on this list are personal data: keep it no longer than it is needed, and show it to "
    "nobody who need not act on it."
)
"""Stands on every recall list."""


def where_words(one: Sent) -> str:
    """Return where a container is, in words."""
    if one.back_on:
        return f"back on {one.back_on}"
    if one.went_to or one.went_on:
        return "not back"
    return "empty" if one.is_empty else "in the store"


def recall_table(batches: Iterable[BatchTakings], system: str) -> Table:
    """Return every container of some batches, those that are still out first."""
    pairs = [(batch, one) for batch in batches for one in batch.sent]
    pairs.sort(key=lambda pair: (bool(pair[1].back_on) or pair[1].is_empty, pair[1].went_to,
                                 pair[0].batch, pair[1].number))  # fmt: skip
    return Table(
        "recall", "Containers, those still out first",
        (Column("Went to"), Column("On", keep=True), Column("Container"), Column("Holds", True),
         Column("Batch"), Column("Beer"), Column("Best before", keep=True), Column("Where it is"),
         Column("Informed by, at")),
        tuple(_row(batch, one, system) for batch, one in pairs),
        nothing="No container is written down for these batches.",
    )  # fmt: skip


def _row(batch: BatchTakings, one: Sent, system: str) -> tuple[Cell, ...]:
    number = one.number if one.of == 1 else f"{one.number} (of {one.of})"
    litres = amount_in(one.litres, "volume", system) if one.litres is not None else ""
    is_out = not one.back_on and not one.is_empty
    return (
        Cell(one.went_to or "not written", strong=is_out and bool(one.went_to),
             soft=not one.went_to),
        Cell(one.went_on), Cell(number), Cell(litres), Cell(batch.batch), Cell(batch.name),
        Cell(batch.best_before), Cell(where_words(one)), Cell(),
    )  # fmt: skip


def went_lines(batches: Sequence[BatchTakings], system: str) -> Iterable[str]:
    """Yield where the containers of some batches went, for a terminal."""
    for batch in batches:
        for one in batch.sent:
            number = one.number if one.of == 1 else f"{one.number} (of {one.of})"
            litres = f", {amount_in(one.litres, 'volume', system)}" if one.litres else ""
            to = f"{one.went_to or 'not written to whom'}"
            day = f" on {one.went_on}" if one.went_on else ""
            gas = f", on gas since {one.on_gas_since}" if one.on_gas_since else ""
            yield f"  {batch.batch} {number}{litres}{gas}: {to}{day}, {where_words(one)}"
