"""Numbers that formulas were given: how they are told, and where the plan has them."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from reportgen.assess import Assessment
from reportgen.checks.quantities import quantity
from reportgen.record.finding import Position
from reportgen.record.units import Quantity

KINDS = {
    "degC": ("temperature", 1), "SG": ("gravity", 4), "L": ("volume", 1), "kg": ("mass", 2),
    "mg/L": ("concentration", 0), "min": ("time", 0), "bar": ("pressure", 2), "pH": ("ph", 2),
    "volumes": ("carbonation", 1), "L/h": ("evaporation", 1), "EBC": ("colour", 0),
    "m": ("length", 0),
}  # fmt: skip
"""Kind and decimals of an argument of a formula, by the unit it is documented in."""

PLAIN = ("fraction", "-", "1", "count", "kg/kg")
"""Units that are not worth a word."""


def told(value: float, unit: str, batch: Assessment, more: int = 0) -> str:
    """Return an argument of a formula with its unit, in the units of the house where it can be.

    ``more`` asks for as many figures more than usual.
    """
    if unit in KINDS:
        kind, decimals = KINDS[unit]
        return quantity(value, kind, decimals + more, batch)
    shown = f"{value:.{4 + more}g}"
    unit = "°P" if unit == "P" else unit.replace("deg", "°")
    return shown if unit in PLAIN else f"{shown} {unit}"


@dataclass(frozen=True)
class Planned:
    """A quantity of the plan: its key, how deep in the plan it lies, where it stands."""

    name: str
    depth: int
    position: Position | None


def planned_like(part: Any, value: float, unit: str) -> list[Planned]:
    """Return the quantities in a part of the plan that are the very number a formula was given."""
    kind = KINDS.get(unit, ("", 0))[0]
    return [
        Planned(name, depth, one.position)
        for name, depth, one in _quantities(part, "", 0)
        if one.kind == kind and math.isclose(one.value, value, rel_tol=1e-9)
    ]


def _quantities(part: Any, name: str, depth: int) -> Iterator[tuple[str, int, Quantity]]:
    if isinstance(part, Quantity):
        yield name, depth, part
    elif isinstance(part, tuple):
        for one in part:
            yield from _quantities(one, name, depth + 1)
    elif dataclasses.is_dataclass(part):
        for field in dataclasses.fields(part):
            if field.name != "position":
                yield from _quantities(getattr(part, field.name), field.name, depth + 1)
