"""What a batch cost: its ingredients by the price of their lots."""

from __future__ import annotations

from msgspec import Struct

from reportgen.store.balance import Store
from reportgen.store.takings import BatchTakings


class Cost(Struct, frozen=True):
    """The ingredients of a batch, in the currency of the house.

    ``without_price`` are the items that no price is known of: the cost is then at least this.
    ``each_litre`` is for 1 L of beer packaged, or of wort planned where ``is_packed`` is False.
    """

    batch: str
    total: float
    litres: float
    is_packed: bool
    without_price: tuple[str, ...]

    @property
    def each_litre(self) -> float | None:
        """Cost of a litre; None without a volume."""
        return self.total / self.litres if self.litres > 0 else None


def cost_of(store: Store, batch: BatchTakings) -> Cost | None:
    """Return what a batch cost as far as prices are known; None where none is.

    What no lot is written for has the price of the lot that is used first.
    """
    total, without, priced = 0.0, list(batch.uncounted), False
    items = {(i.table, i.name): i for i in store.items}
    for taking in batch.takings:
        lot = store.lots.get((taking.table, taking.item, taking.lot))
        if lot is None and not taking.lot:
            item = items.get((taking.table, taking.item))
            known = (
                [lot_known for lot_known in item.lots if lot_known.price is not None]
                if item
                else []
            )
            lot = min(known, key=lambda lot_known: lot_known.order, default=None)
        if lot is None or lot.price_each is None or lot.kind != taking.kind:
            without.append(taking.item)
            continue
        total += taking.amount * lot.price_each
        priced = True
    if not priced:
        return None
    return Cost(batch.batch, total, batch.litres, batch.is_packed, tuple(dict.fromkeys(without)))
