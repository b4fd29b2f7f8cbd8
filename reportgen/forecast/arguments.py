"""Arguments of formulas in words: a number with its unit, and why a formula refuses it."""

from __future__ import annotations

from reportgen.record.printed import Units
from reportgen.science.method import OutOfRange

KINDS = {
    "degC": ("temperature", 1), "SG": ("gravity", 4), "L": ("volume", 1), "kg": ("mass", 2),
    "mg/L": ("concentration", 0), "min": ("time", 0), "bar": ("pressure", 2), "pH": ("ph", 2),
    "volumes": ("carbonation", 1), "L/h": ("evaporation", 1), "EBC": ("colour", 0),
    "m": ("length", 0), "L/kg": ("specific_volume", 2), "kJ/K": ("heat_capacity", 1),
}  # fmt: skip
"""Kind and decimals of an argument, by the unit it is documented in."""

PLAIN = ("fraction", "-", "1", "count", "kg/kg")
"""Units that are not worth a word."""


def argument_text(value: float, unit: str, system: str, more: int = 0) -> str:
    """Return an argument with its unit, in those of a house (``metric``, ``US``, ``imperial``).

    Where the house has no unit of its own it stays in that of the formula. ``more`` asks for as
    many figures more than usual.
    """
    if unit in KINDS:
        kind, decimals = KINDS[unit]
        return Units(system).plain(value, kind, decimals + more)
    shown = f"{value:.{4 + more}g}"
    unit = "°P" if unit == "P" else unit.replace("deg", "°")
    return shown if unit in PLAIN else f"{shown} {unit}"


class NothingLeft(ValueError):
    """A vessel that keeps all there is in it.

    Attributes: the ``vessel``, what is ``kept`` of what ``volume`` (L), ``where`` if it must be
    said, and ``so``, what that means. ``what`` it does: it keeps it, if nothing else is said.
    """

    def __init__(
        self, vessel: str, kept: float, volume: float, where: str, so: str, what: str = "keeps"
    ) -> None:
        self.vessel, self.kept, self.volume, self.where, self.so = vessel, kept, volume, where, so
        self.what = what
        super().__init__(self.words("metric"))

    def words(self, system: str) -> str:
        """Say so in the units of a house."""
        kept, volume = (argument_text(v, "L", system) for v in (self.kept, self.volume))
        return f"the {self.vessel} {self.what} {kept} of {volume}{self.where}: {self.so}"


def why_stopped(error: Exception, system: str) -> str:
    """Say why a number cannot be computed, in the units ``metric``, ``US`` or ``imperial``."""
    if isinstance(error, OutOfRange):
        return refusal(error, system)
    if isinstance(error, NothingLeft):
        return error.words(system)
    if isinstance(error, ArithmeticError):
        return "a number is nought or far too large to compute with"
    return str(error)


def refusal(error: OutOfRange, system: str) -> str:
    """Say which argument a formula refuses, and what it takes."""
    value, low, high = (
        argument_text(v, error.unit, system) for v in (error.value, error.low, error.high)
    )
    return f"{error.name.replace('_', ' ')} is {value}, outside {low} to {high}"
