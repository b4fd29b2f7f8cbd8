"""Elementary functions that serve plain floats and numbers with an uncertainty alike.

The science modules are written once. Handed floats they return floats at full speed; handed
``uncertainties`` numbers they return such numbers, with all correlations kept. That library looks
for NumPy when it is imported, a quarter of all that a short command takes, for arrays that are used
nowhere here: it is kept from finding it.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import Any, TypeVar

_hidden = "numpy" not in sys.modules and "uncertainties" not in sys.modules
if _hidden:
    sys.modules["numpy"] = None  # type: ignore[assignment]
try:
    import uncertainties
finally:
    if _hidden:
        del sys.modules["numpy"]

Number = Any
"""A float, or an ``uncertainties`` number."""

T = TypeVar("T")


def ufloat(value: float, uncertainty: float, tag: str) -> Number:
    """Return a number with its standard uncertainty; one without any is a plain float.

    ValueError for a negative uncertainty.
    """
    if uncertainty < 0:
        raise ValueError(f"the uncertainty of {tag} is {uncertainty:.4g}, which is less than 0")
    return uncertainties.ufloat(value, uncertainty, tag) if uncertainty else float(value)


def nominal(x: Number) -> float:
    """Return the plain value of a number, without its uncertainty."""
    if type(x) is float:
        return x
    plain: Any = getattr(x, "nominal_value", x)
    return float(plain)


def flat(x: T) -> T:
    """Return a number as it is, the tree of its causes added up to one flat sum; of several each.

    A number with uncertainty keeps the whole tree until it is asked for, and a number used three
    times is then added up three times over: flattened stage by stage the trees stay small.
    """
    for part in x if isinstance(x, tuple) else (x,):
        getattr(part, "derivatives", None)
    return x


def first_order(x: Number, value: float, slope: float) -> Number:
    """Return a function of one number, from its value and its slope there.

    The first-order term carries the uncertainty with its correlations; it adds nothing to the
    value. ``slope`` is df/dx at the plain value of ``x``. ``value`` alone for a plain float.
    """
    if isinstance(x, (float, int)):
        return value
    return value + (x - nominal(x)) * slope


def standard_uncertainty(x: Number) -> float:
    """Return the standard uncertainty (k = 1) of a number; 0 for a plain float."""
    return float(getattr(x, "std_dev", 0.0))


def expanded_uncertainty(x: Number) -> float:
    """Return the expanded uncertainty U (k = 2, JCGM 100) of a number; 0 for a plain float."""
    return 2.0 * standard_uncertainty(x)


def _either(plain: Callable[[float], float], slope: Callable[[float], float]) -> (
    Callable[[Number], Number]
):
    with_cause: Callable[[Number], Number] = uncertainties.wrap(plain, [slope])

    def function(x: Number) -> Number:
        return plain(x) if isinstance(x, (float, int)) else with_cause(x)

    function.__name__ = plain.__name__
    function.__doc__ = f"``math.{plain.__name__}`` for floats and for numbers with an uncertainty."
    return function


exp = _either(math.exp, math.exp)
log = _either(math.log, lambda x: 1 / x)
log10 = _either(math.log10, lambda x: 1 / x / math.log(10))
sqrt = _either(math.sqrt, lambda x: 0.5 / math.sqrt(x))


def carried(function: Callable[..., float]) -> Callable[..., Number]:
    """Let a function of plain floats (a root finder, an integral) carry uncertainties.

    Called with plain floats only, the function itself runs. Called with a number that has an
    uncertainty, its partial derivatives are taken numerically (``uncertainties.wrap``).
    Arguments must be positional and scalar.
    """

    with_cause: Callable[..., Number] = uncertainties.wrap(function)

    def either(*args: Number) -> Number:
        is_plain = all(isinstance(a, (float, int)) for a in args)
        return function(*args) if is_plain else with_cause(*args)

    either.__name__ = function.__name__
    either.__doc__ = function.__doc__
    return either
