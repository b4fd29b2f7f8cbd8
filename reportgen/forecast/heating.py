"""Liquor to heat: how much for each vessel, how hot, and how long the kettle's heater takes."""

from __future__ import annotations

from msgspec import Struct

from reportgen.forecast.book import Forecast
from reportgen.forecast.case import Case
from reportgen.science.heat import direct_heat_energy, heating_time, liquor_mass
from reportgen.science.method import REFUSED
from reportgen.science.number import nominal

COLD = 12.0
"""Temperature that liquor is heated from, degC: as it comes from a main or a well in a mild
climate. Common practice, no source."""


class LiquorToHeat(Struct, frozen=True):
    """Liquor for one vessel: L at 20 degC, degC, min; None where not known or not heated.

    ``read`` is the figure as whose reading its temperature is met.
    """

    vessel: str
    litres: float
    temperature: float | None
    minutes: float | None
    read: str = ""


def liquor_to_heat(case: Case, planned: Forecast, power: float | None) -> list[LiquorToHeat]:
    """Return the liquor of a batch by vessel, in the order of the work.

    ``power`` is what reaches the liquor, kW. Losses to the room while it heats are not counted.
    """
    strike = nominal(planned["strike_temperature"]) if "strike_temperature" in planned else None
    parts = (
        ("Mash", "mash_liquor", strike, "strike_temperature"),
        ("Infusions", "infusion_liquor", case.boiling, ""),
        ("Sparge", "sparge_liquor", case.sparge_temperature, "sparge_temperature"),
        ("Top-up", "top_up_liquor", None, ""),
        ("To the wort", "dilution_liquor", case.boiling, ""),
    )
    portions = []
    for vessel, key, temperature, read in parts:
        litres = float(nominal(planned[key])) if key in planned else 0.0
        if litres > 0:
            minutes = _minutes(litres, temperature, power)
            portions.append(LiquorToHeat(vessel, litres, temperature, minutes, read))
    return portions


def _minutes(litres: float, temperature: float | None, power: float | None) -> float | None:
    if temperature is None or not power or temperature <= COLD:
        return None
    try:
        energy = direct_heat_energy(COLD, temperature, 0.0, liquor_mass(litres, COLD))
        return float(nominal(heating_time(energy, power)))
    except REFUSED:
        return None
