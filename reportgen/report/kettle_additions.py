"""What goes into the kettle by the clock: the same list for the sheet and for its page."""

from __future__ import annotations

from reportgen.forecast.resolve import is_dissolved_first
from reportgen.record.model.plan import FiningItem, HopItem, Plan, SaltItem, SugarItem
from reportgen.record.model.stock import Stock
from reportgen.record.units import Quantity

KettleItem = HopItem | FiningItem | SugarItem | SaltItem


def dissolved_first(plan: Plan, stock: Stock) -> list[SugarItem]:
    """Return the extract and sugar that is stirred in before the kettle is read as full."""
    return [sugar for sugar in plan.sugars if is_dissolved_first(sugar, plan, stock)]


def kettle_additions(plan: Plan, stock: Stock) -> list[tuple[float, KettleItem]]:
    """Return what goes into the boiling kettle, each with the minutes after the boil's beginning.

    In the order of the clock. What is dissolved before the boil is not among them.
    """
    boil = plan.boil.time.value

    def after(time: Quantity | None, without: float) -> float:
        return boil - min(without if time is None else time.value, boil)

    timed: list[tuple[float, KettleItem]] = []
    timed += [(after(hop.time, 0.0), hop) for hop in plan.boil.hops]
    timed += [(after(fining.time, 0.0), fining) for fining in plan.boil.finings]
    for sugar in plan.sugars:
        if sugar.to == "kettle" and not is_dissolved_first(sugar, plan, stock):
            timed.append((after(sugar.time, boil), sugar))
    timed += [(0.0, salt) for salt in plan.liquor.salts if salt.to == "kettle"]
    return sorted(timed, key=lambda pair: pair[0])
