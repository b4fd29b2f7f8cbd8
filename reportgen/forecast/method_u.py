"""What the methods themselves leave open: the uncertainty of their manual pages, as data.

Each is one cause of a case (``Case.cause``), so that two walks share it and a difference between
them is not blurred by it. ±U (k = 2); a test holds the numbers to the pages.
"""

from __future__ import annotations

from reportgen.forecast.case import Case
from reportgen.science.number import Number

ALCOHOL_U = 0.0015
"""Fraction by volume, of the relation of gravities and alcohol: ``science/alcohol.py``."""
DUTY_TABLE_U = 0.002
"""The same of the duty table, which is coarser."""
SOLUBILITY_U = 0.04
"""Share of the absolute pressure, or of the gas: page of ``carbonation.gauge_pressure``."""
DISSOLVED_U = 0.1
"""Volumes, of what is still dissolved: page of ``carbonation.priming_sugar``."""
STRIKE_U = 0.5
"""K, of the heat balance: page of ``heat.strike_temperature``."""
CELLS_U = 0.20
"""Share, of cells counted with care: pages of the counts in ``science/yeast.py``."""


def alcohol(case: Case) -> Number:
    """Return what the alcohol model leaves open, a fraction by volume around 0."""
    wide = DUTY_TABLE_U if case.alcohol_method == "duty_table" else ALCOHOL_U
    return case.cause("alcohol model", 0.0, wide)


def solubility(case: Case) -> Number:
    """Return the factor of the solubility of carbon dioxide in this beer, around 1."""
    return case.cause("solubility of CO2", 1.0, SOLUBILITY_U)


def dissolved(case: Case) -> Number:
    """Return what is not known of the gas still dissolved, volumes around 0."""
    return case.cause("gas still dissolved", 0.0, DISSOLVED_U)


def strike(case: Case) -> Number:
    """Return what the heat balance of the mash leaves open, K around 0."""
    return case.cause("heat balance of the mash", 0.0, STRIKE_U)
