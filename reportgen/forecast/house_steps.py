"""Readings that stand in tables: whole multiples of a step that is natural in the house's unit."""

from __future__ import annotations

import math

from msgspec import Struct

from reportgen.record.printed import Units

_VOLUMES = {
    "metric": (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0),
    "US": (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0),
    "imperial": (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0),
}
"""Steps of a volume, in L or gallons."""

_DEGREES = {"metric": (1.0, 2.0), "US": (2.0, 4.0), "imperial": (1.0, 2.0)}
"""A fine and a coarse step of a temperature, in the printed unit."""


class HouseSteps(Struct, frozen=True):
    """What is natural in a system of units: ``metric``, ``US`` or ``imperial``.

    Values come and go in base units; steps are in the printed unit.
    """

    system: str = "metric"

    def degrees(self, coarse: bool = False) -> float:
        """Return the step of a temperature."""
        return _DEGREES[self.system][coarse]

    def litres(self, about: float) -> float:
        """Return the step of a volume that is nearest to some litres, in the printed unit."""
        wanted = self._from_base(max(about, 1e-6), "volume")
        return min(_VOLUMES[self.system], key=lambda step: abs(math.log(step / wanted)))

    def below(self, value: float, kind: str, step: float, count: int) -> list[float]:
        """Return the multiples of a step below a value, rising; none within half a step of it."""
        first = math.ceil(self._from_base(value, kind) / step - 0.5 - 1e-9) - 1
        return self._multiples(kind, step, range(first - count + 1, first + 1))

    def above(self, value: float, kind: str, step: float, count: int) -> list[float]:
        """Return the multiples of a step above a value, rising; none within half a step of it."""
        first = math.floor(self._from_base(value, kind) / step + 0.5 + 1e-9) + 1
        return self._multiples(kind, step, range(first, first + count))

    def about(self, value: float, kind: str, step: float, count: int) -> list[float]:
        """Return an odd count of multiples of a step, the middle one nearest to a value."""
        middle = round(self._from_base(value, kind) / step)
        half = count // 2
        return self._multiples(kind, step, range(middle - half, middle + half + 1))

    def _from_base(self, value: float, kind: str) -> float:
        return Units(self.system).converted(value, kind)

    def _multiples(self, kind: str, step: float, numbers: range) -> list[float]:
        nothing = self._from_base(0.0, kind)
        unit_step = self._from_base(1.0, kind) - nothing
        return [(step * number - nothing) / unit_step for number in numbers]
