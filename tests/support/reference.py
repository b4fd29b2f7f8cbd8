"""What reference libraries give, each loaded when it is first asked: some take seconds to load.

Every process of a run imports every file of tests, and runs the tests of some of them.
"""

from __future__ import annotations

import importlib
from typing import Any


class _Later:
    """A name of a library, to be called or asked as the thing itself."""

    def __init__(self, module: str, name: str) -> None:
        self.library, self._name = module, name

    def __call__(self, *values: Any, **named: Any) -> Any:
        return getattr(importlib.import_module(self.library), self._name)(*values, **named)

    def __getattr__(self, attribute: str) -> Any:
        if attribute.startswith("_"):
            # Asked of every name in a file when tests are looked for.
            raise AttributeError(attribute)
        return getattr(getattr(importlib.import_module(self.library), self._name), attribute)


PropsSI = _Later("CoolProp.CoolProp", "PropsSI")
IAPWS95 = _Later("iapws", "IAPWS95")
IAPWS97 = _Later("iapws", "IAPWS97")
Hfg, Hfl, Hfs = (_Later("chemicals", name) for name in ("Hfg", "Hfl", "Hfs"))
balance_stoichiometry = _Later("chempy", "balance_stoichiometry")
arrhenius_equation = _Later("chempy.kinetics.arrhenius", "arrhenius_equation")
ATMOSPHERE_1976 = _Later("fluids.atmosphere", "ATMOSPHERE_1976")
Formula = _Later("molmass", "Formula")
PhreeqPython = _Later("phreeqpython", "PhreeqPython")
PINT = _Later("pint", "application_registry")
optimize = _Later("scipy", "optimize")
brentq = _Later("scipy.optimize", "brentq")
curve_fit = _Later("scipy.optimize", "curve_fit")
integrate = _Later("scipy", "integrate")
quad = _Later("scipy.integrate", "quad")
solve_ivp = _Later("scipy.integrate", "solve_ivp")
stats = _Later("scipy", "stats")
CubicSpline = _Later("scipy.interpolate", "CubicSpline")
interp1d = _Later("scipy.interpolate", "interp1d")
gammaincc = _Later("scipy.special", "gammaincc")
gammainccinv = _Later("scipy.special", "gammainccinv")
