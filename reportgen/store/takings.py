"""What one batch takes from the store: what was weighed, and what is only planned.

A weighed amount stands for the planned one; what nobody weighed on a day that was brewed counts as
planned. The n-th weighed entry of an item is its n-th planned addition, as in the forecast.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from msgspec import Struct

from reportgen.record.finding import Position
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Added, Weighed
from reportgen.record.model.stock import TABLES, Stock
from reportgen.record.quantity import Quantity
from reportgen.record.values import Reading, State

Place = tuple[str, int, int, int]
"""File, line, column, end column."""


class Taking(Struct, frozen=True):
    """An amount of an item, kg or L; ``lot`` is empty where none is written.

    ``kind`` is that of the amount: mass or volume. ``weighed`` is False for what is only planned.
    """

    table: str
    item: str
    lot: str
    kind: str
    amount: float
    weighed: bool
    place: Place | None = None

    @property
    def position(self) -> Position | None:
        """Where the amount stands."""
        return None if self.place is None else Position(*self.place)


class Sent(Struct, frozen=True):
    """A container that was filled: its number, L in it, and where it went. Texts may be empty."""

    number: str
    of: int
    litres: float | None
    on_gas_since: str
    went_to: str
    went_on: str
    back_on: str
    is_empty: bool
    place: Place | None = None

    @property
    def position(self) -> Position | None:
        """Where the number stands."""
        return None if self.place is None else Position(*self.place)


class Glass(Struct, frozen=True):
    """A glass with a blind code, of one evening of tasting."""

    day: str
    code: str
    place: Place | None = None

    @property
    def position(self) -> Position | None:
        """Where the code stands."""
        return None if self.place is None else Position(*self.place)


class BatchTakings(Struct, frozen=True):
    """What a batch takes, and where it went.

    ``brewed`` is None for one that is only planned, ``due`` the day it is planned for. ``litres``
    is the beer packaged, or, where ``is_packed`` is False, the wort planned for the fermenter.
    """

    batch: str
    name: str
    file: str
    brewed: datetime.date | None
    due: datetime.date | None
    litres: float
    is_packed: bool
    best_before: str
    takings: tuple[Taking, ...]
    sent: tuple[Sent, ...]
    glasses: tuple[Glass, ...]
    silenced: tuple[str, ...]
    uncounted: tuple[str, ...]
    """What it takes that the store does not count, so that its price is not known."""

    @property
    def unwritten(self) -> float:
        """Beer packaged that is in no container written down, L; 0 where one has no volume."""
        if not self.is_packed or any(part.litres is None for part in self.sent):
            return 0.0
        return self.litres - sum(part.litres or 0.0 for part in self.sent)


def is_counted(stock: Stock, table: str, item: str) -> bool:
    """Whether the store counts an item: a lot of it has the amount that was received."""
    entry = getattr(stock, table).get(item)
    return entry is not None and any(lot.amount is not None for lot in entry.lots.values())


def counts_anything(stock: Stock) -> bool:
    """Whether the store counts any item at all."""
    return any(is_counted(stock, table, str(item))
               for table in TABLES for item in getattr(stock, table))


def takings_of(record: Record, stock: Stock) -> BatchTakings | None:
    """Return what a batch takes of the items that the store counts; None for nothing to tell."""
    counts = counts_anything(stock)
    # Liquor that was added is in no table of the store: it has no lot and no price.
    every = [t for t in _takings(record, stock) if t.amount > 0 and t.table] if counts else []
    taken = tuple(t for t in every if is_counted(stock, t.table, t.item))
    sent, glasses = tuple(_sent(record)), tuple(_glasses(record))
    uncounted = dict.fromkeys(t.item for t in every if not is_counted(stock, t.table, t.item))
    packaging = record.packaging
    volume = packaging.packaged_volume if packaging is not None else None
    packed = volume is not None and volume.value is not None
    if not (taken or sent or glasses or packed):
        return None
    litres = record.plan.fermenter_volume.value
    if packed and volume is not None and volume.value is not None:
        litres = volume.value.value
    best = packaging.best_before if packaging is not None else None
    due = record.plan.brew_on
    file = record.position.file if record.position is not None else ""
    return BatchTakings(
        str(record.batch), str(record.name), file,
        record.brewed_on, due.date if due is not None else None,
        litres, packed, str(best) if best is not None else "", taken, sent, glasses,
        tuple(str(s.check) for s in record.silenced),
        tuple(uncounted),
    )  # fmt: skip


class _Slot(Struct, frozen=True):
    item: str
    lot: str
    amount: Quantity


def _planned(record: Record) -> Iterator[_Slot]:
    for item in record.plan.ingredients:
        # Wort of another batch was made there: its own is what goes into its fermenter.
        if record.wort_from is None or item.of_fermenter:
            yield _Slot(str(item.name), str(item.lot or ""), item.amount)
    pitch = record.plan.pitch
    if pitch.yeast_amount is not None and pitch.harvested_from is None:
        yield _Slot(str(pitch.yeast), str(pitch.lot or ""), pitch.yeast_amount)


def _weighed(record: Record) -> Iterator[tuple[str, str, Reading]]:
    """Yield (item, lot, amount) of what was weighed, in order; the yeast that was pitched, too."""
    day = record.brew_day
    if day is None:
        return
    for entry in day.weighed:
        if not _is_own(record, entry):
            continue
        yield str(entry.item), str(entry.lot or ""), entry.amount
    pitch = day.pitch
    if (
        pitch is not None and pitch.yeast_amount is not None
        and record.plan.pitch.harvested_from is None
    ):
        lot = pitch.lot or record.plan.pitch.lot
        yield str(record.plan.pitch.yeast), str(lot or ""), pitch.yeast_amount


def _is_own(record: Record, entry: Weighed | Added) -> bool:
    """Whether an entry of the brew day is the batch's own, not one of the wort that it was given:
    that took from the store for the other batch."""
    where, own = entry.position, record.position
    return record.wort_from is None or where is None or own is None or where.file == own.file


def _added(record: Record) -> Iterator[tuple[str, str, Reading]]:
    for section, entry in record.added_and_taken():
        if isinstance(entry, Added) and (section != "brew_day" or _is_own(record, entry)):
            yield str(entry.what), str(entry.lot or ""), entry.amount


def _takings(record: Record, stock: Stock) -> Iterator[Taking]:
    planned: dict[str, list[_Slot]] = {}
    for slot in _planned(record):
        planned.setdefault(slot.item, []).append(slot)
    done: dict[str, list[tuple[str, Reading]]] = {}
    for item, lot, reading in _weighed(record):
        done.setdefault(item, []).append((lot, reading))
    is_brewed = record.brew_day is not None
    for item in dict.fromkeys([*planned, *done]):
        slots, entries = planned.get(item, []), done.get(item, [])
        for number, (lot, reading) in enumerate(entries):
            meant = slots[number] if number < len(slots) else None
            own = lot or (meant.lot if meant is not None else "")
            if reading.state is State.NOT_DONE:
                continue
            amount = reading.value if reading.value is not None else (
                meant.amount if meant is not None else None
            )
            if amount is not None:
                yield _taking(record, stock, item, own, amount, True)
        left = slots[len(entries):]
        # Those of the fermenter stand last.
        for slot in left[:max(len(left) - record.put_in_later(item), 0)]:
            yield _taking(record, stock, item, slot.lot, slot.amount, is_brewed)
    for item, lot, reading in _added(record):
        if reading.value is not None:
            yield _taking(record, stock, item, lot, reading.value, True)


def _taking(
    record: Record, stock: Stock, item: str, lot: str, amount: Quantity, weighed: bool
) -> Taking:
    table = stock.table_of(item)
    where, own, like = amount.position, record.position, record.plan.like
    if where is not None and own is not None and like is not None and where.file != own.file:
        # An amount of the plan that this one starts from is told where that plan is named.
        where = like.position
    return Taking(table, item, lot, amount.kind, amount.value, weighed, _place(where))


def _sent(record: Record) -> Iterator[Sent]:
    for container in record.packaging.filled if record.packaging is not None else ():
        yield Sent(
            str(container.number), round(container.of.value) if container.of is not None else 1,
            container.volume.value if container.volume is not None else None,
            str(container.on_gas_since or ""), str(container.went_to or ""),
            str(container.went_on or ""), str(container.back_on or ""), container.empty == "yes",
            _place(container.number.position),
        )  # fmt: skip


def _glasses(record: Record) -> Iterator[Glass]:
    for session in record.tasting:
        if (code := session.blind_code) is not None:
            yield Glass(str(session.date), str(code), _place(code.position))


def _place(where: Position | None) -> Place | None:
    return None if where is None else (where.file, where.line, where.column, where.end_column)


def takings_data(takings: BatchTakings) -> list[object]:
    """Return takings as plain data for JSON, for :func:`takings_from` to read back."""
    return [
        takings.batch, takings.name, takings.file,
        takings.brewed.isoformat() if takings.brewed else "",
        takings.due.isoformat() if takings.due else "",
        takings.litres, takings.is_packed, takings.best_before,
        [[t.table, t.item, t.lot, t.kind, t.amount, t.weighed, t.place] for t in takings.takings],
        [
            [s.number, s.of, s.litres, s.on_gas_since, s.went_to, s.went_on, s.back_on,
             s.is_empty, s.place]
            for s in takings.sent
        ],
        [[g.day, g.code, g.place] for g in takings.glasses],
        list(takings.silenced), list(takings.uncounted),
    ]  # fmt: skip


def takings_from(data: list[object]) -> BatchTakings:
    """Return the takings written by :func:`takings_data`. TypeError or ValueError for others."""
    batch, name, file, brewed, due, litres, packed, best, takings, sent, glasses, *names = data

    def day(text: object) -> datetime.date | None:
        return datetime.date.fromisoformat(str(text)) if text else None

    def placed(row: list[object]) -> list[object]:
        return [*row[:-1], None if row[-1] is None else tuple(row[-1])]  # type: ignore[arg-type]

    return BatchTakings(
        str(batch), str(name), str(file), day(brewed), day(due), float(litres),  # type: ignore[arg-type]
        bool(packed), str(best),
        tuple(Taking(*placed(t)) for t in takings),  # type: ignore[attr-defined,arg-type]
        tuple(Sent(*placed(s)) for s in sent),  # type: ignore[attr-defined,arg-type]
        tuple(Glass(*placed(g)) for g in glasses),  # type: ignore[attr-defined,arg-type]
        *(tuple(map(str, some)) for some in names),  # type: ignore[call-overload]
    )  # fmt: skip
