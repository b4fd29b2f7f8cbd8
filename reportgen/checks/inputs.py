"""Where the plan has the numbers that formulas were given."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from reportgen.forecast.arguments import KINDS
from reportgen.record.finding import Position
from reportgen.record.units import Quantity


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
