"""Numbers with an uncertainty: the ``uncertainties`` library without NumPy.

It looks for NumPy at import, a quarter of all that a short command takes, for arrays that are
used nowhere here.
"""

from __future__ import annotations

from reportgen.light_import import import_without

import_without("uncertainties", "numpy")

from uncertainties import ufloat, umath, wrap  # noqa: E402

__all__ = ["ufloat", "umath", "wrap"]
