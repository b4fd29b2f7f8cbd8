"""What is in the store, as tables: for the terminal, the ledger's page and the printed list."""

from __future__ import annotations

import datetime
import math

from msgspec import Struct

from reportgen.record.model.brewery import Brewery
from reportgen.record.printed import Units
from reportgen.report.ledger import Cell, Column, Frame, LedgerData, Table, frame_of, plural
from reportgen.report.text_table import text_table
from reportgen.store.balance import Item, LotBalance, Store
from reportgen.store.cost import cost_of
from reportgen.store.words import amount_in, price_in

NOTHING = (
    "Nothing is counted yet: write `amount` with the lots in stock.yaml, "
    "as in `amount: 25 kg`."
)


class StorePage(Struct, frozen=True):
    """The store: what is left, what is planned, what to buy, what it cost."""

    frame: Frame
    lead: str
    tables: tuple[Table, ...]


class StoreWords(Struct, frozen=True):
    """How a house says amounts and prices, and the day it is told for."""

    system: str
    currency: str
    day: datetime.date | None

    @property
    def volume(self) -> str:
        """The unit that beer is measured in."""
        return Units(self.system).label("volume")

    @property
    def litres(self) -> float:
        """Litres in one of it."""
        return 1.0 / Units(self.system).converted(1.0, "volume")

    def amount(self, value: float, kind: str) -> str:
        """Return an amount, kg or L."""
        return amount_in(value, kind, self.system)


def words_of(brewery: Brewery, store: Store, day: datetime.date | None = None) -> StoreWords:
    """Return how a house says things, on a day: the last that the records know of, unless told."""
    return StoreWords(
        brewery.system, str(brewery.currency or ""), day or store.last_day
    )


def tables(store: Store, words: StoreWords, href: str = "") -> tuple[Table, ...]:
    """Return the tables of a store. ``href`` leads to the folder of the batches' pages, if any."""
    return (
        _left(store, words),
        _planned(store, words, href),
        _to_buy(store, words),
        _out_of_date(store, words),
        _entries(store, words),
        _costs(store, words, href),
    )


def lead_of(store: Store, words: StoreWords) -> str:
    """Return the store in one sentence."""
    if not store.items:
        return NOTHING
    parts = [f"{plural(len(store.lots), 'lot')} of {plural(len(store.items), 'item')} counted"]
    if words.day is not None:
        parts[0] += f", as of {words.day}"
    missing = len(store.to_buy)
    parts.append(f"{plural(missing, 'item')} to buy" if missing else "the plans have enough")
    return "; ".join(parts) + "."


def store_page(data: LedgerData) -> StorePage:
    """Return the ledger's page of the store."""
    store = data.register.store
    words = words_of(data.brewery, store)
    return StorePage(
        frame_of(data, "Store", "store.html"), lead_of(store, words),
        tables(store, words, "batch/") if store.items else (),
    )  # fmt: skip


def _left(store: Store, words: StoreWords) -> Table:
    rows = []
    for item in store.items:
        first = item.first(words.day)
        for lot in sorted(item.lots, key=lambda each: each.order):
            rows.append(_lot_row(item, lot, words, is_first=lot is first))
        if item.used_without_lot:
            gone = words.amount(item.used_without_lot, item.kind)
            rows.append((
                Cell(item.title), Cell("no known lot", soft=True), Cell(), Cell(gone), Cell(),
                Cell(words.amount(item.left, item.kind)), Cell(), Cell(),
                Cell("left of all lots"),
            ))  # fmt: skip
    return Table(
        "left", "What is left; each item's lots in the order to use them",
        (Column("Item"), Column("Lot"), Column("Received", True), Column("Used", True),
         Column("Lost", True), Column("Left", True), Column("Planned", True),
         Column("Best before", keep=True), Column("Note")),
        tuple(rows), "Find items and lots", "No lot has an amount.",
    )  # fmt: skip


def _lot_row(item: Item, lot: LotBalance, words: StoreWords, is_first: bool) -> tuple[Cell, ...]:
    notes = []
    if is_first:
        notes.append("use first")
    if lot.is_short:
        notes.append("more used than received")
    elif lot.left <= 0.01 * lot.received:
        notes.append("empty")
    elif lot.is_out_of_date(words.day):
        notes.append("out of date")
    return (
        Cell(item.title),
        Cell(lot.number),
        Cell(words.amount(lot.received, lot.kind)),
        Cell(words.amount(lot.used, lot.kind)),
        Cell(words.amount(lot.lost, lot.kind) if lot.lost else ""),
        Cell(words.amount(lot.left, lot.kind), sort=f"{lot.left:.4f}"),
        Cell(words.amount(lot.promised, lot.kind) if lot.promised else ""),
        Cell(str(lot.best_before or "")),
        Cell(", ".join(notes), strong=lot.is_short),
    )


def _planned(store: Store, words: StoreWords, href: str) -> Table:
    short = {(n.use.batch.batch, n.item.table, n.item.name): n for n in store.needs}
    items = {(i.table, i.name): i for i in store.items}
    rows = []
    for batch in store.planned:
        for (table, name), item in items.items():
            mine = [t for t in batch.takings if (t.table, t.item) == (table, name)]
            if not mine:
                continue
            need = short.get((batch.batch, table, name))
            lack = "" if need is None else (
                f"{words.amount(need.wanted - need.there, item.kind)} missing"
            )
            lots = ", ".join(dict.fromkeys(t.lot for t in mine if t.lot))
            rows.append((
                Cell(batch.batch, href=f"{href}{batch.batch}.html" if href else ""),
                Cell(batch.due.isoformat() if batch.due else "no day", soft=batch.due is None),
                Cell(item.title), Cell(lots or "any", soft=not lots),
                Cell(words.amount(sum(t.amount for t in mine), item.kind)),
                Cell(lack, strong=bool(lack)),
            ))  # fmt: skip
    return Table(
        "planned", "What the planned batches need, in the order of brewing",
        (Column("Batch"), Column("Brew on", keep=True), Column("Item"), Column("Lot"),
         Column("Needs", True), Column("Missing", True)),
        tuple(rows), nothing="No batch is planned that needs what is counted.",
    )  # fmt: skip


def packs_words(missing: float, item: Item, words: StoreWords) -> str:
    """Return how many packs to buy; empty where the size of a pack is not known."""
    if not item.pack:
        return ""
    return f"{math.ceil(missing / item.pack - 1e-9)} of {words.amount(item.pack, item.kind)}"


def _to_buy(store: Store, words: StoreWords) -> Table:
    items = {(i.table, i.name): i for i in store.items}
    rows = []
    for key, missing in store.to_buy.items():
        item = items[key]
        wanting = [n.use.batch for n in store.needs if n.item is item]
        suppliers = dict.fromkeys(lot.supplier for lot in reversed(item.lots) if lot.supplier)
        rows.append((
            Cell(item.title), Cell(words.amount(missing, item.kind)),
            Cell(packs_words(missing, item, words)),
            Cell(next((str(b.due) for b in wanting if b.due), "")),
            Cell(", ".join(dict.fromkeys(b.batch for b in wanting))),
            Cell(next(iter(suppliers), "")),
        ))  # fmt: skip
    return Table(
        "buy", "What to buy",
        (Column("Item"), Column("Missing", True), Column("Packs", True),
         Column("Needed by", keep=True), Column("For"), Column("Last supplier")),
        tuple(rows), nothing="Nothing is missing.",
    )  # fmt: skip


def _out_of_date(store: Store, words: StoreWords) -> Table:
    """Return the lots with something left that are out of date now or on the day of a plan."""
    last = max((b.due for b in store.planned if b.due), default=None)
    until = max((d for d in (last, words.day) if d is not None), default=None)
    rows = []
    for item in store.items:
        for lot in item.lots:
            if lot.left <= 0.01 * lot.received or not lot.is_out_of_date(until):
                continue
            now = lot.is_out_of_date(words.day)
            rows.append((
                Cell(item.title), Cell(lot.number), Cell(words.amount(lot.left, lot.kind)),
                Cell(str(lot.best_before)),
                Cell("out of date" if now else f"out of date by {until}", strong=now),
            ))  # fmt: skip
    return Table(
        "dates", "Out of date, or before the last planned batch is brewed",
        (Column("Item"), Column("Lot"), Column("Left", True), Column("Best before", keep=True),
         Column("Note")),
        tuple(rows), nothing="No lot that has something left.",
    )  # fmt: skip


def _costs(store: Store, words: StoreWords, href: str) -> Table:
    rows = []
    for batch in reversed(store.batches):
        cost = cost_of(store, batch)
        if cost is None:
            continue
        each = cost.each_litre
        more = "at least" if cost.without_price else ""
        litres = words.amount(cost.litres, "volume") + ("" if cost.is_packed else " planned")
        rows.append((
            Cell(batch.batch, href=f"{href}{batch.batch}.html" if href else ""),
            Cell(batch.name), Cell(f"{more} {price_in(cost.total, words.currency)}".strip()),
            Cell(litres),
            Cell("" if each is None else
                 f"{more} {price_in(each * words.litres, words.currency)}".strip()),
            Cell(", ".join(name.replace("_", " ") for name in cost.without_price)),
        ))  # fmt: skip
    return Table(
        "costs", "What the ingredients of each batch cost",
        (Column("Batch"), Column("Beer"), Column("Cost", True), Column("Beer packaged", True),
         Column(f"For 1 {words.volume}", True), Column("Without a price")),
        tuple(rows), nothing="No lot has a price.",
    )  # fmt: skip


def _entries(store: Store, words: StoreWords) -> Table:
    """What became of lots beside what went into beer, in the order of the days."""
    rows = []
    for item in store.items:
        for lot in item.lots:
            for entry in lot.entries:
                what = ", ".join(
                    f"{name} {words.amount(amount.value, lot.kind)}"
                    for name in ("lost", "found", "counted")
                    if (amount := getattr(entry, name)) is not None
                )
                rows.append((
                    Cell(str(entry.on)), Cell(item.title), Cell(lot.number), Cell(what),
                    Cell(str(entry.because)), Cell(str(entry.by or "")),
                ))  # fmt: skip
    return Table(
        "entries", "Losses, finds and counts",
        (Column("Day", keep=True), Column("Item"), Column("Lot"), Column("What"),
         Column("Because"), Column("By")),
        tuple(sorted(rows, key=lambda row: row[0].text)), nothing="No lot has any.",
    )  # fmt: skip


def as_text(tables: tuple[Table, ...]) -> list[str]:
    """Return tables as lines for a terminal."""
    lines = []
    for table in tables:
        lines += ["", table.caption]
        if not table.rows:
            lines.append(f"  {table.nothing}")
            continue
        head = tuple(column.title for column in table.columns)
        cells = [head, *(tuple(cell.text for cell in row) for row in table.rows)]
        right = [n for n, column in enumerate(table.columns) if column.number]
        lines += text_table(cells, right)
    return lines[1:]
