"""A quantity as read, and what is raised for a text that is none."""

from __future__ import annotations

from msgspec import Struct

from reportgen.record.finding import Position
from reportgen.record.unit_table import EXAMPLES, NAMES, UNITS

SCALED = frozenset(unit.kind for unit in UNITS if unit.scale)
"""Kinds whose values keep the scale that they are written in."""


class UnitError(Exception):
    """A text that is not a quantity, date or time: what is wrong, what is expected, the fix."""

    def __init__(self, message: str, expected: str = "", remedy: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.expected = expected
        self.remedy = remedy


class Quantity(Struct, frozen=True):
    """A number with its unit.

    ``value`` is in the base unit of ``kind``; a gravity and a cell density keep the scale they are
    written in, and ``unit`` then names that scale (``SG``, ``P``, ``Bx``; ``billion/mL``,
    ``billion/g``). ``text`` is what was written, ``number`` and ``unit`` its parts; of
    ``5 lb 4 oz`` they are 84 and ``oz``. ``step`` is one unit of the last decimal written, in the
    base unit: 0.1 for ``65.4 C``. A pressure is a gauge pressure.
    """

    value: float
    kind: str
    text: str
    number: float
    unit: str
    step: float
    position: Position | None = None

    @property
    def in_base_unit(self) -> str:
        """The value in words that are the same however it was written: 6600 g is 6.60 kg.

        What keeps its scale has that for its unit: 12 P is neither 12 Bx nor a specific gravity.
        """
        return f"{self.value:.9g} {self.unit if self.kind in SCALED else self.kind}"

    @property
    def is_mass(self) -> bool:
        """Whether it was weighed."""
        return self.kind == "mass"

    @property
    def is_volume(self) -> bool:
        """Whether it was measured as a volume."""
        return self.kind == "volume"

    @property
    def is_gravity(self) -> bool:
        """Whether it is a gravity, on whichever scale."""
        return self.kind == "gravity"

    @property
    def is_temperature(self) -> bool:
        """Whether it is a temperature, not a difference of two."""
        return self.kind == "temperature"

    @property
    def is_share(self) -> bool:
        """Whether it was written in per cent."""
        return self.kind == "fraction"


def refuse(message: str, kind: str, remedy: str = "") -> UnitError:
    """Return the error for a text that is not a quantity of a kind, with examples of the kind."""
    return UnitError(message, f"{NAMES[kind]}, e.g. {EXAMPLES[kind]}", remedy)
