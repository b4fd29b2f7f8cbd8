"""Numbers with an uncertainty: the ``uncertainties`` library without NumPy.

It looks for NumPy at import, a quarter of all that a short command takes, for arrays that are
used nowhere here.
"""

from __future__ import annotations

import sys

from reportgen.science.number import Number

_hidden = "numpy" not in sys.modules and "uncertainties" not in sys.modules
if _hidden:
    sys.modules["numpy"] = None  # type: ignore[assignment]
try:
    import uncertainties
    from uncertainties import wrap
finally:
    if _hidden:
        del sys.modules["numpy"]


def ufloat(value: float, uncertainty: float, tag: str) -> Number:
    """Return a number with its standard uncertainty; one without any is a plain float.

    ValueError for a negative uncertainty.
    """
    if uncertainty < 0:
        raise ValueError(f"the uncertainty of {tag} is {uncertainty:.4g}, which is less than 0")
    return uncertainties.ufloat(value, uncertainty, tag) if uncertainty else float(value)


__all__ = ["ufloat", "wrap"]
