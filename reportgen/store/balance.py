"""The balance of each lot: received = used + lost + left, whatever the order of the entries."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property

from msgspec import Struct

from reportgen.record.finding import Position
from reportgen.record.model.stock import TABLES, Lot, Stock, StockEntry
from reportgen.record.quantity import Quantity
from reportgen.store.takings import BatchTakings, Taking, is_counted

FAR = datetime.date.max
SLACK = 0.01
COUNT_SLACK = 0.05
"""Share of what was received by which a count may be above what the books have left: weights of
several brews err, each by its scale. Common practice, no source."""
"""A share of what was received: a full bag is often a little more, and scales err."""


class Use(Struct, frozen=True):
    """What a batch takes of a lot, or of an item without a lot."""

    batch: BatchTakings
    taking: Taking

    @property
    def is_planned(self) -> bool:
        """Whether it has not happened yet."""
        return self.batch.brewed is None


class LotBalance(Struct, frozen=True):
    """One lot, kg or L. ``lost`` has losses less finds, and what counts corrected, as a loss.

    ``left`` is what is there now; ``promised`` what planned batches have named it for.
    ``faults`` are entries in another kind of unit than the lot.
    """

    table: str
    item: str
    number: str
    kind: str
    received: float
    used: float
    lost: float
    promised: float
    came: datetime.date | None
    best_before: datetime.date | None
    price: float | None
    uses: tuple[Use, ...]
    position: Position | None
    supplier: str = ""
    entries: tuple[StockEntry, ...] = ()
    """Losses, finds and counts, as written."""
    too_many: tuple[tuple[StockEntry, float], ...] = ()
    """Counts of more than can have been there, each with what was left by the books."""

    @property
    def left(self) -> float:
        """What is there now, kg or L."""
        return self.received - self.used - self.lost

    @property
    def is_short(self) -> bool:
        """Whether more was taken than ever came, beyond what scales err."""
        return self.left < -SLACK * self.received

    @property
    def order(self) -> tuple[datetime.date, datetime.date, str]:
        """The order in which lots are to be used: what is out of date first, then the oldest."""
        return (self.best_before or FAR, self.came or FAR, self.number)

    @property
    def price_each(self) -> float | None:
        """Price of 1 kg or 1 L."""
        return None if self.price is None else self.price / self.received

    def is_out_of_date(self, day: datetime.date | None) -> bool:
        """Whether its date is past on a day."""
        return day is not None and self.best_before is not None and self.best_before < day


class Item(Struct, frozen=True):
    """An item of the stock that is counted. ``loose`` are uses of no lot, or of an unknown one."""

    table: str
    name: str
    title: str
    kind: str
    pack: float | None
    lots: tuple[LotBalance, ...]
    loose: tuple[Use, ...]

    @property
    def left(self) -> float:
        """What is there now of all lots, kg or L."""
        return sum(lot.left for lot in self.lots) - self.used_without_lot

    @property
    def used_without_lot(self) -> float:
        """What batches used of no lot, or of one that the stock does not have, kg or L."""
        return sum(u.taking.amount for u in self.loose if not u.is_planned)

    @property
    def promised(self) -> float:
        """What the planned batches need, kg or L."""
        return sum(lot.promised for lot in self.lots) + sum(
            u.taking.amount for u in self.loose if u.is_planned
        )

    def first(self, day: datetime.date | None = None) -> LotBalance | None:
        """Return the lot to use first: of those with something left, in date on a day."""
        able = [lot for lot in self.lots if lot.left > SLACK * lot.received]
        good = [lot for lot in able if not lot.is_out_of_date(day)]
        return min(good or able, key=lambda lot: lot.order, default=None)


class Shortage(Struct, frozen=True):
    """A planned batch that wants more of an item than is there when its turn comes.

    ``wanted`` and ``there`` in kg or L; ``before`` are the planned batches that come first and take
    what would have been enough for this one alone.
    """

    item: Item
    use: Use
    wanted: float
    there: float
    before: tuple[str, ...]


class Store(Struct, frozen=True, dict=True):
    """Everything that is counted, and every batch with what it takes, in the order of brewing."""

    items: tuple[Item, ...]
    batches: tuple[BatchTakings, ...]

    @cached_property
    def planned(self) -> tuple[BatchTakings, ...]:
        """The batches still to be brewed, in order: by their day, then by id."""
        return tuple(b for b in self.batches if b.brewed is None and b.takings)

    @cached_property
    def last_day(self) -> datetime.date | None:
        """The last day that any batch or lot knows of."""
        days = [b.brewed for b in self.batches if b.brewed is not None]
        lots = [lot for item in self.items for lot in item.lots]
        days += [lot.came for lot in lots if lot.came is not None]
        days += [entry.on.date for lot in lots for entry in lot.entries]
        return max(days, default=None)

    @cached_property
    def lots(self) -> Mapping[tuple[str, str, str], LotBalance]:
        """Every lot by table, item and number."""
        return {
            (lot.table, lot.item, lot.number): lot for item in self.items for lot in item.lots
        }

    @cached_property
    def needs(self) -> tuple[Shortage, ...]:
        """What the planned batches lack, in the order in which they are brewed."""
        return tuple(_needs(self))

    @cached_property
    def to_buy(self) -> Mapping[tuple[str, str], float]:
        """How much of each item is missing in all, kg or L."""
        missing: dict[tuple[str, str], float] = {}
        for need in self.needs:
            key = need.item.table, need.item.name
            missing[key] = missing.get(key, 0.0) + need.wanted - need.there
        return missing


def _value(given: Quantity | None, kind: str) -> float:
    return given.value if given is not None and given.kind == kind else 0.0


def lost_of(
    received: float, kind: str, entries: Sequence[StockEntry],
    uses: Sequence[tuple[datetime.date | None, float]],
) -> tuple[float, tuple[tuple[StockEntry, float], ...]]:
    """Return what a lot lost: losses less finds, and what each count corrects.

    A count holds for the end of its day: what was used or lost by then has left, what comes later
    has not. The order in which entries are written does not count. The counts of more than can
    have been there come with it, each with what was left by the books.
    """
    lost = 0.0
    used = 0.0
    too_many = []
    pending = sorted(
        ((use[0] or datetime.date.min, use[1]) for use in uses), key=lambda pair: pair[0]
    )
    steps = sorted(entries, key=lambda e: (e.on.date, e.counted is not None))
    for entry in steps:
        while pending and pending[0][0] <= entry.on.date:
            used += pending.pop(0)[1]
        if entry.counted is not None and entry.counted.kind == kind:
            left = received - used - lost
            if entry.counted.value > left + COUNT_SLACK * received:
                too_many.append((entry, left))
            lost = received - used - entry.counted.value
        lost += _value(entry.lost, kind) - _value(entry.found, kind)
    return lost, tuple(too_many)


def _balance(
    table: str, item: str, number: str, lot: Lot, uses: Sequence[Use], day: datetime.date | None
) -> LotBalance:
    entries = tuple(e for e in lot.entries if day is None or e.on.date <= day)
    assert lot.amount is not None
    kind = lot.amount.kind
    mine = [u for u in uses if u.taking.kind == kind]
    done = [u for u in mine if not u.is_planned]
    lost, too_many = lost_of(
        lot.amount.value, kind, entries, [(u.batch.brewed, u.taking.amount) for u in done]
    )
    return LotBalance(
        table, item, number, kind, lot.amount.value,
        sum(u.taking.amount for u in done),
        lost,
        sum(u.taking.amount for u in mine if u.is_planned),
        lot.received.date if lot.received is not None else None,
        lot.best_before.date if lot.best_before is not None else None,
        lot.price.value if lot.price is not None else None,
        tuple(uses), lot.amount.position, str(lot.supplier or ""), entries,
        too_many,
    )  # fmt: skip


def store_of(
    stock: Stock, batches: Iterable[BatchTakings], day: datetime.date | None = None
) -> Store:
    """Return the store of an archive: every item with an amount received, every batch's takings.

    As it was in the evening of a day, if one is given: without what came or happened later.
    """
    if day is not None:
        batches = [b for b in batches if b.brewed is None or b.brewed <= day]
    ordered = tuple(sorted(batches, key=lambda b: (b.brewed or FAR, b.due or FAR, b.batch)))
    by_item: dict[tuple[str, str], list[Use]] = {}
    for batch in ordered:
        for taking in batch.takings:
            by_item.setdefault((taking.table, taking.item), []).append(Use(batch, taking))
    items = []
    for table in TABLES:
        for name, entry in getattr(stock, table).items():
            name = str(name)
            if not is_counted(stock, table, name):
                continue
            uses = by_item.get((table, name), [])
            counted = {
                str(n): lot for n, lot in entry.lots.items()
                if lot.amount is not None and not (day and lot.received and lot.received.date > day)
            }
            if not counted:
                continue
            lots = tuple(
                _balance(table, name, number, lot, [u for u in uses if u.taking.lot == number], day)
                for number, lot in counted.items()
            )
            known = {str(n) for n in entry.lots}
            # A use of a lot that is known and not counted takes nothing from those that are, nor
            # does one from before the first of them came.
            first = min(lot.came or datetime.date.min for lot in lots)
            loose = tuple(
                u for u in uses
                if u.taking.lot not in known and (u.batch.brewed is None or u.batch.brewed >= first)
            )
            words = name.replace("_", " ")
            items.append(Item(
                table, name, str(getattr(entry, "name", None) or words[:1].upper() + words[1:]),
                lots[0].kind, entry.pack.value if entry.pack is not None else None, lots, loose,
            ))  # fmt: skip
    return Store(tuple(items), ordered)


def _needs(store: Store) -> Iterable[Shortage]:
    """Let the planned batches take in their order; yield each that finds too little.

    A batch takes the lot it names, and no other; without one the lots that are in date on its day,
    the first to be used first.
    """
    items = {(i.table, i.name): i for i in store.items}
    left = {key: max(lot.left, 0.0) for key, lot in store.lots.items()}
    for counted in store.items:
        # What was used without its lot came from one of them, the first to be used.
        missing = counted.used_without_lot
        for lot in sorted(counted.lots, key=lambda each: each.order):
            key = lot.table, lot.item, lot.number
            gone = min(left[key], missing)
            left[key] -= gone
            missing -= gone
    at_first = dict(left)
    took: dict[tuple[str, str, str], list[str]] = {}
    for batch in store.planned:
        wanted: dict[tuple[str, str, str], list[Taking]] = {}
        for taking in batch.takings:
            wanted.setdefault((taking.table, taking.item, taking.lot), []).append(taking)
        for (table, name, number), takings in wanted.items():
            item = items.get((table, name))
            if item is None:
                continue
            key = table, name, number
            if number and key not in left:
                continue  # a lot that is not counted
            amount = sum(t.amount for t in takings if t.kind == item.kind)
            keys = [key] if number else [
                (lot.table, lot.item, lot.number)
                for lot in sorted(item.lots, key=lambda each: each.order)
                if not lot.is_out_of_date(batch.due)
            ]
            there = sum(left[k] for k in keys)
            received = sum(store.lots[k].received for k in keys)
            for k in keys:
                if amount > 0 and left[k] > 0:
                    taken = min(left[k], amount)
                    left[k] -= taken
                    amount -= taken
                    took.setdefault(k, []).append(batch.batch)
            if amount > SLACK * received or (not keys and amount > 0):
                enough = sum(at_first[k] for k in keys) >= there + amount - 1e-9
                earlier = [b for k in keys for b in took.get(k, ()) if b != batch.batch]
                yield Shortage(
                    item, Use(batch, takings[0]), there + amount, there,
                    tuple(dict.fromkeys(earlier)) if enough else (),
                )  # fmt: skip
