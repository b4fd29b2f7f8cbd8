"""The ledger's page of beers: the batches of each kind of beer in a row, in the order brewed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from reportgen.history.pairs import WORDS_ONLY
from reportgen.history.row import BatchRow
from reportgen.record.model.flavours import term_words
from reportgen.record.suggest import folded
from reportgen.report.ledger import (
    BRACKETS,
    Cell,
    Column,
    Frame,
    LedgerData,
    Rows,
    Table,
    batch_href,
    frame_of,
    plural,
    value_cell,
    yeast_text,
)

FLAVOURS = 3
"""Flavours named of a tasting: the strongest."""

class BeerGroup(Struct, frozen=True):
    """All batches of one kind of beer."""

    place: str
    kind: str
    lead: str
    table: Table


class BeersPage(Struct, frozen=True):
    """The kinds of beer, the one brewed last first."""

    frame: Frame
    lead: str
    groups: tuple[BeerGroup, ...]
    brackets: str = BRACKETS


def kind_of(row: BatchRow) -> str:
    """Return the kind of beer: the plan's word for it up to the first comma; else the name."""
    return " ".join((row.beer or row.name).partition(",")[0].split())


def kinds(rows: Mapping[str, BatchRow]) -> dict[str, list[BatchRow]]:
    """Return the batches of each kind of beer in the order brewed, by the kind folded."""
    by_kind: dict[str, list[BatchRow]] = {}
    for row in sorted(rows.values(), key=_order):
        by_kind.setdefault(folded(kind_of(row)), []).append(row)
    return by_kind


def _order(row: BatchRow) -> tuple[bool, str, str]:
    return (not row.brewed, row.brewed, row.id)


def before(row: BatchRow, earlier: Sequence[BatchRow]) -> BatchRow | None:
    """Return the batch that this one repeats.

    That is the one its plan starts from, else the last one before of the same name.
    """
    same = [
        other for other in earlier
        if other.id == row.like or (not row.like and other.name.casefold() == row.name.casefold())
    ]  # fmt: skip
    return same[-1] if same else None


def changed(row: BatchRow, other: BatchRow) -> str:
    """Return which sections of the plan differ from those of another batch, in words."""
    ours, theirs = dict(row.plan_parts), dict(other.plan_parts)
    names = sorted(
        key for key in {*ours, *theirs}
        if key not in WORDS_ONLY and ours.get(key) != theirs.get(key)
    )
    return ", ".join(name.replace("_", " ") for name in names)


def beers_page(data: LedgerData) -> BeersPage:
    """Return the page of beers."""
    by_kind = kinds(data.rows)
    # What is planned next stands first, as in the list of batches.
    order = sorted(by_kind, key=lambda kind: max(map(_order, by_kind[kind])), reverse=True)
    groups = tuple(
        _group(data, f"beer-{number}", by_kind[kind]) for number, kind in enumerate(order, 1)
    )
    repeated = sum(len(rows) > 1 for rows in by_kind.values())
    return BeersPage(
        frame_of(data, "Beers", "beers.html"),
        f"{plural(len(groups), 'kind')} of beer, {repeated} brewed more than once.",
        groups,
    )


def _group(data: LedgerData, place: str, rows: Sequence[BatchRow]) -> BeerGroup:
    def cells(number: int) -> tuple[Cell, ...]:
        row = rows[number]
        other = before(row, rows[:number])
        return (
            Cell(row.id, href=batch_href(row.id)),
            Cell(row.name),
            Cell(row.brewed or "not yet", soft=not row.brewed),
            Cell(yeast_text(data, row)),
            value_cell(data, row, "original_gravity"),
            value_cell(data, row, "final_gravity"),
            value_cell(data, row, "alcohol"),
            value_cell(data, row, "bitterness"),
            Cell(_tasted(row)),
            Cell("" if other is None else _against(row, other)),
        )  # fmt: skip

    names = list(dict.fromkeys(row.name for row in rows))
    kind = kind_of(rows[0])
    told = f"{plural(len(rows), 'batch', 'batches')}"
    if len(names) > 1:
        told += f" under {len(names)} names"
    columns = (
        Column("Batch"), Column("Beer"), Column("Brewed", keep=True), Column("Yeast, generation"),
        Column("Original gravity", True), Column("Final gravity", True),
        Column("Alcohol, %", True), Column("Bitterness, computed, IBU", True),
        Column("Tasted"), Column("Plan"),
    )  # fmt: skip
    title = f"{kind[:1].upper()}{kind[1:]}"
    return BeerGroup(
        place, title, f"{told}.",
        Table(f"{place}-batches", f"{title}, first batch first", columns,
              Rows(range(len(rows)), cells)),
    )  # fmt: skip


def _against(row: BatchRow, other: BatchRow) -> str:
    words = changed(row, other)
    return f"as {other.id}" if not words else f"as {other.id} but for {words}"


def _tasted(row: BatchRow) -> str:
    """Return the strongest flavours of the last tasting with scores, with its day."""
    scored = [tasting for tasting in row.tastings if tasting.scores]
    if not scored:
        return ""
    last = max(scored, key=lambda tasting: tasting.date)
    strongest = sorted(last.scores, key=lambda pair: (-pair[1], pair[0]))[:FLAVOURS]
    words = ", ".join(f"{term_words(name)} {score:.1f}" for name, score in strongest)
    return f"{last.date}: {words}"
