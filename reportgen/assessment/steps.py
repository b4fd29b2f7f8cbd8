"""The steps in which amounts can be measured out with what a house has."""

from __future__ import annotations

import math
from collections.abc import Callable

from reportgen.assessment.readings import house_instrument
from reportgen.forecast.handles import REST, Slot
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery, Instrument

MALT, SMALL, LITRES, ACID = 0.01, 0.1, 0.1, 0.1
"""kg, g, L and mL, where no instrument says so; that of acids is a line of a syringe. Common
practice, no source."""
DEGREES = {"C": 0.5, "F": 5 / 9, "K": 0.5}
"""degC: the step of a mash temperature, by the unit it is written in."""


def steps_of(record: Record, brewery: Brewery) -> Callable[[Slot, float], float]:
    """Return the step of a slot of the case near an amount, in the unit of the case."""
    unit = record.plan.mash.rests[0].temperature.unit if record.plan.mash.rests else ""
    gauge = _named(record, brewery, "volume_gauge")
    litres = gauge.resolution.value if gauge is not None else LITRES

    def step(slot: Slot, amount: float) -> float:
        table = slot[0]
        if table == REST:
            return DEGREES.get(unit, 0.5)
        if table in ("mash_liquor", "sparge_liquor", "top_up"):
            return litres
        if table == "acids":
            return ACID
        large = table in ("malts", "sugars")
        scale = _scale(brewery, amount if large else amount / 1000)
        if scale is None:
            return MALT if large else SMALL
        own = scale.resolution.value
        if not large:
            return own * 1000
        # Nobody weighs malt to a tenth of a gram, though the fine scale could.
        coarser = max(min(MALT, 0.01 * amount) / own, 1.0)
        return float(own * 10 ** math.floor(math.log10(coarser)))

    return step


def _named(record: Record, brewery: Brewery, kind: str) -> Instrument | None:
    chosen = getattr(record.plan.instruments, kind, None) if record.plan.instruments else None
    return brewery.instruments.get(str(chosen or house_instrument(brewery, kind)))


def _scale(brewery: Brewery, kilograms: float) -> Instrument | None:
    scale = brewery.instruments.get(house_instrument(brewery, "scale", kilograms))
    return scale if scale is not None and scale.resolution.is_mass else None


def scale_unit(brewery: Brewery, kilograms: float) -> str:
    """Return the unit that a mass is weighed in: that of the scale's own step; empty for none."""
    scale = _scale(brewery, kilograms)
    return scale.resolution.unit if scale is not None else ""
