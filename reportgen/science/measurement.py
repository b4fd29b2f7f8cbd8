"""Uncertainty of a reading: from the step of the instrument and from its last check."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

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
def expanded(standard: Number, coverage: Number = 2.0) -> Number:
    """Expanded uncertainty U from a standard uncertainty.

    Formula:
        U = k u
    Inputs:
        standard: unit of the reading, 0 to 1e6; standard uncertainty
        coverage: 1, 1 to 4 (trusted 1.6 to 3); coverage factor k
    Result: U in the unit of the reading; with k = 2 about 95 % of the values lie within it
    Uncertainty: the 95 % hold for a normal spread; 91 to 100 % for others met in practice
    Source: JCGM 100:2008, 6.2.1 and 6.3.3
    """
    return coverage * standard


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


@method
def decimals_uncertainty(text: str) -> float:
    """Standard uncertainty that the last decimal written of a value leaves.

    Formula:
        u = (10^-n / 2) / sqrt(3), n decimals written
    Inputs:
        text: number as written; 1.040 has three decimals, 18 has none
    Result: standard uncertainty (k = 1), in the unit of the value
    Uncertainty: a lower bound; whoever rounds to whole litres may read no better than two
    Source: JCGM 100:2008, 4.3.7 and F.2.2.1
    """
    try:
        number = Decimal(text)
    except InvalidOperation:
        raise ValueError(f"not a number: {text!r}") from None
    if not number.is_finite():
        raise ValueError(f"not a finite number: {text!r}")
    return float(rectangular(10.0 ** int(number.as_tuple().exponent)))
