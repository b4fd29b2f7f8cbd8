"""Uncertainty of a reading: from the step of the instrument and from its last check."""

from __future__ import annotations

from reportgen.science.method import method
from reportgen.science.number import Number, sqrt


@method
def rectangular(resolution: Number) -> Number:
    """Standard uncertainty that the step of an instrument alone leaves.

    A reading says that the value lies within half a step to either side, and nothing of where.

    Formula:
        u = a / sqrt(3), a = resolution / 2
    Inputs:
        resolution: unit of the reading, 0 to 1e13; smallest step that can be read
    Result: standard uncertainty (k = 1), in the unit of the reading
    Uncertainty: none from the formula; 0 % for a true rectangular spread
    Source: JCGM 100:2008, 4.3.7 and F.2.2.1
    """
    return resolution / 2.0 / sqrt(3.0)


@method
def combined(*parts: Number) -> Number:
    """Standard uncertainty of a sum of independent errors.

    Formula:
        u = sqrt(u1^2 + u2^2 + ...)
    Inputs:
        parts: one unit for all; standard uncertainties (k = 1)
    Result: standard uncertainty (k = 1), in the same unit; 0 when there are no parts
    Uncertainty: none from the formula; too small by up to 41 % when two equal errors go together
    Source: JCGM 100:2008, 5.1.2, equation (10)
    """
    square: Number = 0.0
    for part in parts:
        square = square + part * part
    return sqrt(square) if square else 0.0


@method
def reading_uncertainty(resolution: Number, stated: Number | None = None) -> Number:
    """Standard uncertainty of one reading of an instrument.

    What a check or a certificate states (U, k = 2) belongs to the instrument; how finely it can
    be read comes on top. Without a statement the resolution alone counts, so that the true
    uncertainty of an instrument never checked is larger.

    Formula:
        u = sqrt((U / 2)^2 + (resolution / 2)^2 / 3)
    Inputs:
        resolution: unit of the reading, 0 to 1e13; smallest step that can be read
        stated: unit of the reading, 0 to 1e13; U (k = 2) as last checked, or None
    Result: standard uncertainty (k = 1), in the unit of the reading
    Uncertainty: up to 10 % too large when the statement already contains the resolution and is
        as large as one step
    Source: JCGM 100:2008, 4.3.3, 4.3.7, 5.1.2 and F.2.2.1
    """
    step = rectangular(resolution)
    if stated is None:
        return step
    return combined(stated / 2.0, step)
