"""Reading a printed table: straight lines between its entries."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from reportgen.science.method import method
from reportgen.science.number import Number, nominal


@method
def interpolated(table: Sequence[tuple[float, float]], x: Number) -> Number:
    """Value between the entries of a printed table, on the straight line between its neighbours.

    Beyond the ends the first or the last line goes on; the methods that read a table say how far
    they let it.

    Formula:
        y = y_1 + (y_2 - y_1)(x - x_1)/(x_2 - x_1)
    Inputs:
        table: pairs of x and y; rising in x
        x: unit of the table
    Result: unit of the table
    Uncertainty: that of the table, and at most an eighth of the second difference of its entries
    Source: M. Abramowitz and I. A. Stegun 1964, Handbook of Mathematical Functions, NBS Applied
        Mathematics Series 55, section 25.2
    """
    for low, high in pairwise(table):
        if nominal(x) <= high[0]:
            return _line(low, high, x)
    return _line(table[-2], table[-1], x)


def _line(low: tuple[float, float], high: tuple[float, float], x: Number) -> Number:
    """Return the value at ``x`` of the line through two points."""
    return low[1] + (high[1] - low[1]) * (x - low[0]) / (high[0] - low[0])
