"""Yeast: cells to pitch, how much slurry or dry yeast that is, how many of them live."""

from __future__ import annotations

import math

from msgspec import Struct

from reportgen.science.method import method
from reportgen.science.number import Number


class Viability(Struct, frozen=True):
    """Viability of the cells, with the range that has been found."""

    expected: float
    low: float
    high: float


@method
def cells_to_pitch(volume: Number, extract: Number, rate: Number) -> Number:
    """Viable cells that a wort needs.

    Formula:
        N = V P r
    Inputs:
        volume: L, 0 to 10000; wort at 20 degC
        extract: degP, 0 to 40 (trusted 5 to 25)
        rate: million/(mL degP), 0 to 10 (trusted 0.3 to 2)
    Result: billion (1e9) cells
    Uncertainty: none from the formula; the rate itself is a choice, 0.5 to 1.5 in use
    Source: definition of the rate; 0.75 for ale and 1.5 for lager, G.J. Fix and L.A. Fix 1997, An
        Analysis of Brewing Techniques
    """
    return volume * extract * rate


@method
def pitch_rate(cells: Number, volume: Number, extract: Number) -> Number:
    """Rate at which a wort was pitched.

    Formula:
        r = N / (V P)
    Inputs:
        cells: billion, 0 to 1000000; viable
        volume: L, 0.1 to 10000; wort at 20 degC
        extract: degP, 0.5 to 40 (trusted 5 to 25)
    Result: million cells for each mL and degP
    Uncertainty: as that of the count, U = 20 % for a careful one
    Source: definition of the rate; G.J. Fix and L.A. Fix 1997, An Analysis of Brewing Techniques
    """
    return cells / (volume * extract)


@method
def slurry_volume(cells: Number, density: Number, living: Number = 1.0) -> Number:
    """Slurry that holds the viable cells wanted.

    Formula:
        V = N / (1000 d v)
    Inputs:
        cells: billion, 0 to 1000000; viable cells wanted
        density: billion/mL, 0.01 to 6 (trusted 0.05 to 3); all cells in slurry or starter
        living: fraction, 0.01 to 1.2 (trusted 0.5 to 1); viability
    Result: L of slurry
    Uncertainty: U = 30 % of the value, when the density is only estimated
    Source: definition of cell density and viability
    """
    return cells / (1000.0 * density * living)


@method
def dry_yeast_mass(cells: Number, density: Number, living: Number = 1.0) -> Number:
    """Dry yeast that holds the viable cells wanted.

    Counts of 8 to 18 billion cells in a gram have been published.

    Formula:
        m = N / (1000 d v)
    Inputs:
        cells: billion, 0 to 1000000; viable cells wanted
        density: billion/g, 1 to 40 (trusted 5 to 20); cells in the packet
        living: fraction, 0.01 to 1.2 (trusted 0.3 to 1); viable once rehydrated
    Result: kg of dry yeast
    Uncertainty: U = 40 % of the value, when the density is only estimated
    Source: definition of cell density; S. Van Den Berg and A. Van Landschoot 2003, Cerevisia
        28(3):25, Table 1
    """
    return cells / (1000.0 * density * living)


_RATE_AT_4 = 0.0192
_RATE_BY_DEGREE = 0.1104
# ln k against T through the losses of 7, 14 and 68 % in 6 d at 1, 5 and 25 degC that McCaig and
# Bendiak found.

_SPREAD = {"slurry": (2.0, 0.1), "liquid": (2.0, 0.3), "dry": (3.0, 0.3)}
"""Factors on the rate of loss that bound what has been found: worst, best."""

_SLOWER = {"slurry": 1.0, "liquid": 0.37, "dry": 0.0055}
"""Rate of loss against that of slurry: washed and rested yeast keeps longer (common practice)."""


@method
def viability(
    age: float, temperature: float = 4.0, form: str = "slurry", fresh: float = 0.95
) -> Viability:
    """Viability of stored yeast, with the spread that has been found.

    Slurry by published losses. Liquid culture and dry yeast by what is common in the trade: 20 %
    lost in a month at 4 degC, and 4 % in a year at 4 degC or 20 % at 20 degC. It is only a hint:
    count and stain when it matters.

    Formula:
        v = v0 exp(-k d), k = 0.0192 exp(0.1104 (T - 4)) per day for slurry, 0.37 of it for
        liquid culture, 0.0055 for dry yeast
    Inputs:
        age: d, 0 to 2000 (trusted 0 to 30); since harvest or making
        temperature: degC, -2 to 30 (trusted 1 to 25); of storage
        form: word; slurry, liquid or dry
        fresh: fraction, 0.1 to 1 (trusted 0.9 to 1); viability when it was new
    Result: Viability with expected, low, high (fractions)
    Uncertainty: as the range given: rates from a tenth of it to twice as fast
    Source: R. McCaig and D.S. Bendiak 1985, MBAA Tech. Q. 22 (storage temperature of pitching
        yeast); least viability of pitching yeast 95 %, MEBAK M 350.18.518
    """
    rate = _RATE_AT_4 * math.exp(_RATE_BY_DEGREE * (temperature - 4.0)) * _SLOWER[form]
    worst, best = _SPREAD[form]

    def left(factor: float) -> float:
        return fresh * math.exp(-rate * factor * age)

    return Viability(left(1.0), left(worst), left(best))
