"""What the formulas themselves leave open: the uncertainty of their manual pages.

A page whose uncertainty is data brings its own (``science/method.py``). What cannot be added to a
result of one number, or must be shared by two formulas, is handed in from here. Each is one cause
of a case (``Case.cause``), so that two walks share it and a difference between them is not blurred
by it. ±U (k = 2); a test holds the numbers to the pages.
"""

from __future__ import annotations

from reportgen.forecast.case import Case
from reportgen.science.method import Cause, page, widest
from reportgen.science.number import Number

SOLUBILITY_U = 0.04
"""Share of the absolute pressure, or of the gas: pages of ``carbonation``."""
DISSOLVED_U = 0.1
"""Volumes, of what is still dissolved: page of ``carbonation.priming_sugar``."""
CELLS_U = 0.20
"""Share, of cells counted with care: pages of the counts in ``science/yeast.py``."""
STRUCK_BLIND_U = 2.0
"""K, of the strike while nothing is known of the tun: page of ``heat.strike_temperature``."""
HEAT_LOSS_U = 0.20
"""Share of the fall of a mash: page of ``heat.mash_cooling``."""
DECOCTION_U = 0.10
"""Share of the volume drawn: page of ``heat.decoction_volume``."""
STEEP_U = 0.40
"""Share of what a hop stand gives: page of ``bitterness.time_and_gravity``."""
WEATHER_U = 0.03
"""bar, of the air pressure: page of ``carbonation.atmospheric_pressure``."""

NAMES = {
    "alcohol": "alcohol model",
    "bitterness": "utilisation model",
    "colour": "colour model",
    "heat.strike_temperature": "heat balance of the mash",
    "heat.mash_temperature_from_strike": "heat balance of the mash",
    "mash_ph": "mash pH model",
}
"""What a formula's error is called, by its name or its module; else by the title of its page."""


def own_cause(case: Case) -> Cause:
    """Return what gives each formula its error in the walks of a case."""

    def of(name: str, value: float, uncertainty: float) -> Number:
        called = NAMES.get(name) or NAMES.get(name.split(".")[0]) or f"formula: {page(name).title}"
        return case.cause(called, value, uncertainty)

    return of


def solubility(case: Case, method: str, **inputs: Number) -> Number:
    """Return the factor of the solubility of carbon dioxide in this beer, around 1.

    Wider where the formula is asked beyond its trusted range.
    """
    wide = SOLUBILITY_U * widest(page(method), inputs)
    return 1.0 + wide * case.cause("solubility of CO2", 0.0, 1.0)


def dissolved(case: Case) -> Number:
    """Return what is not known of the gas still dissolved, volumes around 0."""
    return DISSOLVED_U * case.cause("gas still dissolved", 0.0, 1.0)


def weather(case: Case) -> Number:
    """Return what the weather does to the air pressure, bar around 0."""
    return case.cause("air pressure of the day", 0.0, WEATHER_U)


def strike_unknown(case: Case) -> Number:
    """Return what is not known of the strike where the tun's heat is not stated, K around 0."""
    if case.tun_heat_capacity:
        return 0.0
    return case.cause("heat of the tun, not stated", 0.0, STRUCK_BLIND_U)

