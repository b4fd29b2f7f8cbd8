"""What one record says of its ties to others: its lots, its yeast, its plan and kit.

Small and plain, so that those of all batches can be held at once; nothing is assessed.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import lru_cache
from sys import intern
from typing import Any

from msgspec import Struct
from msgspec.structs import asdict, astuple

from reportgen.record.model.batch import Record
from reportgen.record.model.later import Harvest
from reportgen.record.model.stock import TABLES, Lot, Stock
from reportgen.record.units import Quantity
from reportgen.record.values import Reading, State
from reportgen.store.takings import (
    BatchTakings,
    takings_data,
    takings_from,
    takings_of,
)


class LotName(Struct, frozen=True, order=True):
    """A lot: of which table of the stock, of which item, its number."""

    kind: str
    item: str
    lot: str


class LotInBatch(Struct, frozen=True):
    """A lot in one batch: amounts as planned and as weighed, as the brewer wrote them.

    ``instead`` names the lots weighed of the same item when this one was planned and not used,
    ``left_out`` says why nothing of it was.
    """

    batch: str
    brewed: datetime.date | None
    planned: tuple[str, ...] = ()
    weighed: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def why_not(self) -> str:
        """Why what was planned of it did not go into the beer; empty when it did."""
        if self.instead:
            return f"{', '.join(self.instead)} used instead"
        return f"left out ({', '.join(self.left_out)})" if self.left_out else ""

    @property
    def was_used(self) -> bool:
        """Whether it went into the beer, as far as the record says."""
        return bool(self.weighed) or (self.brewed is not None and not self.why_not)


class Harvested(Struct, frozen=True):
    """Yeast harvested for another batch. Texts are as written, empty where nothing is.

    ``living`` is the share that was alive, 0 to 1; ``temperature`` that of the store, degC.
    """

    at: datetime.datetime
    amount: str
    viability: str
    living: float | None
    stored_at: str
    temperature: float | None

    @property
    def when(self) -> str:
        """Day and time."""
        return self.at.strftime("%Y-%m-%d %H:%M")


class BatchLinks(Struct, frozen=True):
    """What ties one batch to others. Texts are empty, and values None, where nothing is written.

    ``goes_by`` is the day of brewery and stock that it is assessed with; None for the latest.
    ``generation`` is as written, ``parent`` the batch that the yeast was harvested from, ``lot``
    that of the yeast. ``without_lot`` are items weighed without the lot that the stock keeps.
    """

    batch: str
    name: str
    brewed: datetime.date | None
    goes_by: datetime.date | None
    kit: str
    like: str
    yeast: str
    generation: int | None
    parent: str
    lot: str
    harvest: Harvested | None
    uses: tuple[tuple[LotName, LotInBatch], ...]
    without_lot: tuple[str, ...]
    store: BatchTakings | None = None
    """What it takes of the items that the store counts, and where its containers went."""


def ties_data(ties: BatchLinks) -> dict[str, Any]:
    """Return the ties of a batch as plain data for JSON, for :func:`ties_from` to read back."""
    harvest = ties.harvest
    return {
        **asdict(ties),
        "brewed": None if ties.brewed is None else ties.brewed.isoformat(),
        "goes_by": None if ties.goes_by is None else ties.goes_by.isoformat(),
        "harvest": None if harvest is None else (
            harvest.at.isoformat(), *astuple(harvest)[1:]
        ),
        "uses": [
            (lot.kind, lot.item, lot.lot, use.planned, use.weighed, use.instead, use.left_out)
            for lot, use in ties.uses
        ],
        "store": None if ties.store is None else takings_data(ties.store),
    }


def ties_from(data: dict[str, Any]) -> BatchLinks:
    """Return the ties that were written by :func:`ties_data`.

    KeyError, TypeError or ValueError when the data are none of this version.
    """
    brewed = None if data["brewed"] is None else datetime.date.fromisoformat(data["brewed"])
    harvest = data["harvest"]
    return BatchLinks(
        **{
            **data,
            **{name: intern(data[name]) for name in ("kit", "yeast", "lot")},
            "brewed": brewed,
            "goes_by": None if data["goes_by"] is None else (
                datetime.date.fromisoformat(data["goes_by"])
            ),
            "harvest": None if harvest is None else Harvested(
                datetime.datetime.fromisoformat(harvest[0]), *harvest[1:]
            ),
            "uses": tuple(
                (
                    _lot_name(kind, item, lot),
                    LotInBatch(
                        data["batch"], brewed, *(tuple(map(intern, some)) for some in amounts)
                    ),
                )
                for kind, item, lot, *amounts in data["uses"]
            ),
            "without_lot": tuple(data["without_lot"]),
            "store": None if data["store"] is None else takings_from(data["store"]),
        }
    )


def lots_of_item(stock: Stock, kind: str, item: str) -> Mapping[str, Lot]:
    """Return the lots that the stock knows of an item."""
    entry = getattr(stock, kind).get(item) if kind else None
    return entry.lots if entry is not None else {}


def _amount(value: Reading | Quantity | None) -> str:
    if value is None:
        return ""
    if isinstance(value, Quantity):
        return value.text
    if value.state is State.READ and value.value is not None:
        return value.value.text
    return value.state.value


def planned_lots(record: Record) -> Iterator[tuple[str, str, str]]:
    """Yield (item, lot, amount) for each lot that the plan names."""
    for item in record.plan.ingredients:
        if item.lot is not None:
            yield str(item.name), str(item.lot), item.amount.text
    pitch = record.plan.pitch
    if pitch.lot is not None:
        yield str(pitch.yeast), str(pitch.lot), _amount(pitch.yeast_amount)


def why_out(amount: Reading) -> str:
    """Return why nothing of something was weighed out or added; empty where something was."""
    if amount.state is State.NOT_DONE:
        return amount.reason or amount.state.value
    return amount.value.text if amount.value is not None and amount.value.value == 0 else ""


def weighed_lots(record: Record) -> Iterator[tuple[str, str, str]]:
    """Yield (item, lot, amount) for everything weighed out; the lot is empty when not written."""
    day = record.brew_day
    for entry in record.all_weighed:
        if not why_out(entry.amount):
            yield str(entry.item), str(entry.lot or ""), _amount(entry.amount)
    for added in record.all_added:
        if added.lot is not None and not why_out(added.amount):
            yield str(added.what), str(added.lot), _amount(added.amount)
    if day is not None and day.pitch is not None and day.pitch.lot is not None:
        yield str(record.plan.pitch.yeast), str(day.pitch.lot), _amount(day.pitch.yeast_amount)


def ties_of(record: Record, stock: Stock | None) -> BatchLinks:
    """Return the ties of one batch. Without a stock it has no lots."""
    pitch, day = record.plan.pitch, record.brew_day
    on_the_day = day.pitch.lot if day is not None and day.pitch is not None else None
    batch = str(record.batch)
    return BatchLinks(
        batch,
        str(record.name),
        record.brewed_on,
        record.goes_by,
        intern(str(record.plan.kit)),
        str(record.plan.like or ""),
        intern(str(pitch.yeast)),
        None if pitch.generation is None else round(pitch.generation.value),
        str(pitch.harvested_from or ""),
        intern(str(on_the_day or pitch.lot or "")),
        _harvested(record.harvest),
        tuple(_uses(record, stock, batch, record.brewed_on)) if stock is not None else (),
        tuple(_without_lot(record, stock)) if stock is not None else (),
        takings_of(record, stock) if stock is not None else None,
    )


def _harvested(harvest: Harvest | None) -> Harvested | None:
    if harvest is None:
        return None
    amount, viability, store = harvest.amount, harvest.viability, harvest.stored_at
    return Harvested(
        harvest.at.at,
        amount.text if amount is not None else "",
        viability.text if viability is not None else "",
        viability.value if viability is not None else None,
        store.text if store is not None else "",
        store.value if store is not None else None,
    )


@lru_cache(maxsize=4096)
def _lot_name(kind: str, item: str, lot: str) -> LotName:
    """Return the name of a lot: one object for all batches that name it."""
    return LotName(kind, item, lot)


def _uses(
    record: Record, stock: Stock, batch: str, brewed: datetime.date | None
) -> Iterator[tuple[LotName, LotInBatch]]:
    planned: dict[tuple[str, str], list[str]] = {}
    weighed: dict[tuple[str, str], list[str]] = {}
    for item, lot, amount in planned_lots(record):
        planned.setdefault((item, lot), []).append(intern(amount))
    for item, lot, amount in weighed_lots(record):
        weighed.setdefault((item, lot), []).append(intern(amount))
    meant = Counter(item for item, _, _ in planned_lots(record))
    told, left_out = _told(record), _left_out(record)
    for item, lot in sorted({*planned, *weighed}):
        if not lot:
            continue
        key = (item, lot)
        others: tuple[str, ...] = ()
        # An addition that nobody wrote down counts as planned, with the lot that was planned.
        if key not in weighed and told[item] >= meant[item]:
            others = tuple(sorted(other for name, other in weighed if name == item and other))
        yield (
            _lot_name(stock.table_of(item), item, lot),
            LotInBatch(
                batch,
                brewed,
                tuple(a for a in planned.get(key, ()) if a),
                tuple(weighed.get(key, ())),
                others,
                () if key in weighed or others or told[item] < meant[item]
                else tuple(left_out.get(item, ())),
            ),
        )


def _told(record: Record) -> Counter[str]:
    """Return how many additions of each item the day tells of, those left out among them."""
    told = Counter(str(entry.item) for entry in record.all_weighed)
    pitch = record.brew_day.pitch if record.brew_day is not None else None
    if pitch is not None and (pitch.lot is not None or pitch.yeast_amount is not None):
        told[str(record.plan.pitch.yeast)] += 1
    return told


def _left_out(record: Record) -> dict[str, list[str]]:
    """Return why additions of items were left out, a reason for each."""
    reasons: dict[str, list[str]] = {}
    for entry in record.all_weighed:
        if why := why_out(entry.amount):
            reasons.setdefault(str(entry.item), []).append(why)
    return reasons


def _without_lot(record: Record, stock: Stock) -> Iterator[str]:
    """Yield what was weighed without its lot, though the stock keeps lots of it."""
    for entry in record.all_weighed:
        for kind in TABLES:
            item = getattr(stock, kind).get(entry.item)
            if item is not None and item.lots and entry.lot is None and not why_out(entry.amount):
                yield str(entry.item)
