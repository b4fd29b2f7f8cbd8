"""Which lots a batch used, of what: shared by the checks about lots."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.record.model.stock import TABLES, Lot
from reportgen.record.values import Text


class LotUse(Struct, frozen=True):
    """A lot used: the item, the lot's number as written, and the lots the stock knows of it."""

    item: str
    lot: Text
    known: Mapping[str, Lot]


def lots_used(batch: Assessment) -> Iterator[LotUse]:
    """Yield each lot named in the plan, weighed out, added or pitched, each place it is named."""
    plan, stock = batch.record.plan, batch.stock
    for item in plan.ingredients:
        if item.lot is not None:
            yield LotUse(str(item.name), item.lot, getattr(stock, item.table)[item.name].lots)
    day, yeast = batch.record.brew_day, plan.pitch.yeast
    pitched = day.pitch.lot if day is not None and day.pitch is not None else None
    for lot in (plan.pitch.lot, pitched):
        if lot is not None:
            yield LotUse(str(yeast), lot, stock.yeasts[yeast].lots)
    used = [
        *((entry.item, entry.lot) for entry in batch.record.all_weighed),
        *((entry.what, entry.lot) for entry in batch.record.all_added),
    ]
    for name, lot in used:
        for table in TABLES:
            in_stock = getattr(stock, table).get(name)
            if lot is not None and in_stock is not None:
                yield LotUse(str(name), lot, in_stock.lots)
