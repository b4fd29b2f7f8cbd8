"""Yeast: cells to pitch, how much slurry or dry yeast that is, how many of them live."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.science.method import method
from reportgen.science.number import Number, exp, log, sqrt


@dataclass(frozen=True)
class Viability:
    """Living share of the cells, with the range that has been found."""

    expected: float
    low: float
    high: float


@method
def cells_to_pitch(volume: Number, extract: Number, rate: Number) -> Number:
    """Living cells that a wort needs.

    Formula:
        N = V P r
    Inputs:
        volume: L, 0 to 10000; wort at 20 degC
        extract: degP, 0 to 40 (trusted 5 to 25)
        rate: million/(mL degP), 0 to 10 (trusted 0.3 to 2)
    Result: billion (1e9) cells
    Uncertainty: none from the formula; the rate itself is a choice, 0.5 to 1.5 in use
    Source: definition of the rate; C. Boulton and D. Quain 2001, Brewing Yeast and
        Fermentation, ch. 6
    """
    return volume * extract * rate


@method
def pitch_rate(cells: Number, volume: Number, extract: Number) -> Number:
    """Rate at which a wort was pitched.

    Formula:
        r = N / (V P)
    Inputs:
        cells: billion, 0 to 1000000; living
        volume: L, 0.1 to 10000; wort at 20 degC
        extract: degP, 0.5 to 40 (trusted 5 to 25)
    Result: million cells for each mL and degP
    Uncertainty: as that of the count, U = 20 % for a careful one
    Source: definition of the rate; C. Boulton and D. Quain 2001, Brewing Yeast and
        Fermentation, ch. 6
    """
    return cells / (volume * extract)


@method
def slurry_volume(cells: Number, density: Number, living: Number = 1.0) -> Number:
    """Slurry that holds the living cells wanted.

    Formula:
        V = N / (d v)
    Inputs:
        cells: billion, 0 to 1000000; living cells wanted
        density: billion/L, 10 to 6000 (trusted 300 to 3000); all cells in the slurry
        living: fraction, 0.01 to 1 (trusted 0.5 to 1); viability
    Result: L of slurry
    Uncertainty: U = 30 % when the density is only estimated
    Source: definition of cell density and viability
    """
    return cells / (density * living)


@method
def dry_yeast_mass(cells: Number, density: Number, living: Number = 1.0) -> Number:
    """Dry yeast that holds the living cells wanted.

    Formula:
        m = N / (d v)
    Inputs:
        cells: billion, 0 to 1000000; living cells wanted
        density: billion/kg, 1000 to 40000 (trusted 5000 to 25000); cells in the packet
        living: fraction, 0.01 to 1 (trusted 0.3 to 1); living once rehydrated
    Result: kg of dry yeast
    Uncertainty: U = 30 % when the density is only estimated
    Source: definition of cell density and viability
    """
    return cells / (density * living)


@method
def viability(age: float, temperature: float = 3.0, form: str = "slurry") -> Viability:
    """Living share of stored yeast, with the published spread.

    Formula:
        v = v0 exp(-k d 2^((T - 4)/10))
    Inputs:
        age: d, 0 to 1000 (trusted 0 to 30); since harvest or making
        temperature: degC, -2 to 25 (trusted 0 to 10); of storage
        form: word; slurry, liquid or dry
    Result: Viability with expected, low, high (fractions)
    Uncertainty: the range given; count and stain when it matters
    Source: common practice
    """
    start, rate = _FORMS[form]
    warmth = 2.0 ** ((temperature - 4.0) / 10.0)

    def left(factor: float) -> float:
        return float(start * exp(-rate * factor * warmth * age))

    return Viability(left(1.0), left(2.0), left(0.5))


_FORMS = {
    "slurry": (0.95, -log(0.75) / 14.0),
    "liquid": (0.97, -log(0.75) / 60.0),
    "dry": (0.95, -log(0.90) / 365.0),
}


@method
def haemocytometer_count(
    cells: Number, squares: Number, dilution: Number = 1.0, square_volume: Number = 4e-6
) -> Number:
    """Cell density from a count in a counting chamber.

    Formula:
        c = (N / n) d / v / 1e6
    Inputs:
        cells: count, 0 to 100000 (trusted 75 to 1000); all cells counted
        squares: count, 1 to 400; squares they were counted in
        dilution: 1, 1 to 100000; volume after dilution over volume of the sample
        square_volume: mL, 1e-7 to 0.01; over one square; 4e-6 mL for each of the 25 squares of
            0.2 mm in the middle of the Neubauer chamber of 0.1 mm depth
    Result: million cells for each mL of the sample
    Uncertainty: 1/sqrt(N) from chance, 10 % (U) from the chamber and the dilution
    Source: ASBC Methods of Analysis, Yeast-4
    """
    return cells / squares * dilution / square_volume / 1e6


@method
def count_uncertainty(cells: Number) -> Number:
    """Relative standard uncertainty that chance leaves to a count.

    Formula:
        u/N = 1 / sqrt(N)
    Inputs:
        cells: count, 1 to 100000
    Result: fraction (k = 1)
    Uncertainty: none for cells spread at random; too small when they clump
    Source: Poisson; Student 1907, Biometrika 5:351
    """
    return 1.0 / sqrt(cells)


@method
def viability_from_stain(living: Number, dead: Number) -> Number:
    """Living share from a count with a stain that only dead cells take up.

    Formula:
        v = living / (living + dead)
    Inputs:
        living: count, 0 to 100000
        dead: count, 0 to 100000
    Result: fraction
    Uncertainty: sqrt(v (1 - v) / N) from chance; methylene blue reads too high below 0.85
    Source: ASBC Methods of Analysis, Yeast-3
    """
    return living / (living + dead)
