"""Where a record has the numbers that formulas were given."""

from __future__ import annotations

import math
from typing import Any

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.assessment.derived import refused_in
from reportgen.forecast.arguments import KINDS
from reportgen.record.each_value import parts_in
from reportgen.record.finding import Position
from reportgen.record.model.plan import Plan
from reportgen.record.units import Quantity
from reportgen.science.method import OutOfRange

_GRIST = (
    "gravity", "original_gravity", "first_wort_gravity", "gravity_now", "present_gravity",
    "extract", "original_extract", "first_wort_extract", "real_extract", "mcu",
)  # fmt: skip
_LIQUOR = (
    "calcium", "magnesium", "alkalinity", "liquor_ph", "start_ph", "residual_alkalinity",
    "ionic_strength", "chlorine",
)  # fmt: skip
_YEAST = (
    "attenuation", "apparent_attenuation", "final_gravity", "gravity_end", "apparent_extract",
    "age", "fresh", "living", "density", "rate",
)  # fmt: skip
_HOPS = ("alpha", "utilisation", "time", "minutes")
_KIT = (
    "tanks_in_series", "grain_absorption", "malt_heat_capacity", "slaking_heat", "loss_rate",
    "losses", "altitude", "evaporation_share",
)  # fmt: skip


class Planned(Struct, frozen=True):
    """A quantity of the plan: its key, how deep in the plan it lies, where it stands."""

    name: str
    depth: int
    position: Position | None


def planned_like(part: Any, value: float, unit: str) -> list[Planned]:
    """Return the quantities in a part of the plan that are the very number a formula was given."""
    kind = KINDS.get(unit, (unit, 0))[0]
    return [
        Planned(name, depth, part_value.position)
        for name, depth, part_value in parts_in(part)
        if isinstance(part_value, Quantity) and part_value.kind == kind and math.isclose(part_value.value, value, rel_tol=1e-9)
    ]


def origin(name: str, plan: Plan) -> Position | None:
    """Return where the plan has what an argument of a formula mostly follows from; None if unknown.
    """
    if name in ("calcium", "magnesium") and plan.liquor.salts:
        return plan.liquor.salts[0].position
    if name in _LIQUOR:
        return plan.liquor.position
    if name in ("liquor_to_grist", "strike_temperature"):
        return plan.liquor.mash_liquor_at
    if name == "rate" and plan.pitch.pitch_rate is not None:
        return plan.pitch.pitch_rate.position
    if name in _YEAST:
        return plan.pitch.yeast.position
    if name in _KIT:
        return plan.kit.position
    if name in _HOPS and plan.boil.hops:
        longest = max(plan.boil.hops, key=lambda hop: hop.time.value if hop.time else 0.0)
        return longest.time.position if longest.time else longest.position
    if name in _GRIST and plan.grist:
        return plan.grist[0].position
    return None


def place_of(error: Exception, batch: Assessment) -> Position | None:
    """Return where the record has the number that a formula refuses.

    A corrected reading counts as itself. None when the number only follows from others.
    """
    if not isinstance(error, OutOfRange):
        return None
    read = {key: a.number for key, a in batch.actuals.items() if a.number is not None}
    key = refused_in(error, read)
    if key and batch.actuals[key].reading.position is not None:
        return batch.actuals[key].reading.position
    for part in (batch.record.plan, batch.record, batch.brewery, batch.stock):
        places = planned_like(part, error.value, error.unit)
        if len(places) == 1:
            return places[0].position
    return None
