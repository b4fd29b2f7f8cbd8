"""Reading a printed table: straight lines between its entries."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from reportgen.science.number import Number, nominal


def interpolated(table: Sequence[tuple[float, float]], x: Number) -> Number:
    """Return the value at ``x`` of a table of (x, y) that rises in x; its end lines go on."""
    for low, high in pairwise(table):
        if nominal(x) <= high[0]:
            return _line(low, high, x)
    return _line(table[-2], table[-1], x)


def _line(low: tuple[float, float], high: tuple[float, float], x: Number) -> Number:
    """Return the value at ``x`` of the line through two points."""
    return low[1] + (high[1] - low[1]) * (x - low[0]) / (high[0] - low[0])
