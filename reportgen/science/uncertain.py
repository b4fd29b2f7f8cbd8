"""Numbers with an uncertainty: the ``uncertainties`` library without NumPy.

It looks for NumPy at import, a quarter of all that a short command takes, for arrays that are
used nowhere here.
"""

from __future__ import annotations

from reportgen.light_import import import_without
from reportgen.science.number import Number

import_without("uncertainties", "numpy")

import uncertainties  # noqa: E402
from uncertainties import umath, wrap  # noqa: E402


def ufloat(value: float, uncertainty: float, tag: str) -> Number:
    """Return a number with its standard uncertainty; one without any is a plain float.

    ValueError for a negative uncertainty.
    """
    if uncertainty < 0:
        raise ValueError(f"the uncertainty of {tag} is {uncertainty:.4g}, which is less than 0")
    return uncertainties.ufloat(value, uncertainty, tag) if uncertainty else float(value)


__all__ = ["ufloat", "umath", "wrap"]
