"""What goes into the kettle by the clock: the same list for the sheet and for its page."""

from __future__ import annotations

from reportgen.record.model.plan import FiningItem, HopItem, Plan, SaltItem, SugarItem
from reportgen.record.units import Quantity

KettleItem = HopItem | FiningItem | SugarItem | SaltItem


def kettle_additions(plan: Plan) -> list[tuple[float, KettleItem]]:
    """Return what goes into the boiling kettle, each with the minutes after the boil's beginning.

    In the order of the clock. Without a mash, extract that has no time of its own is dissolved
    before the boil and is not among them.
    """
    boil = plan.boil.time.value

    def after(time: Quantity | None, without: float) -> float:
        return boil - min(without if time is None else time.value, boil)

    timed: list[tuple[float, KettleItem]] = []
    timed += [(after(hop.time, 0.0), hop) for hop in plan.boil.hops]
    timed += [(after(fining.time, 0.0), fining) for fining in plan.boil.finings]
    for sugar in plan.sugars:
        if sugar.to == "kettle" and (plan.grist or sugar.time is not None):
            timed.append((after(sugar.time, boil), sugar))
    timed += [(0.0, salt) for salt in plan.liquor.salts if salt.to == "kettle"]
    return sorted(timed, key=lambda pair: pair[0])
