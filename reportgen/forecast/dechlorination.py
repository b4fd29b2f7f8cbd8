"""Chlorine and chloramine of the liquor: what is left of them, the metabisulfite for the rest."""

from __future__ import annotations

from reportgen.forecast.case import Case
from reportgen.science.number import Number, flat
from reportgen.science.salts import SULFITES, metabisulfite_dose

EXCESS = 1.5
"""Times the dose that just removes it: metabisulfite loses strength (common practice)."""


def to_remove(case: Case) -> Number:
    """Return the chlorine and chloramine, mg/L as Cl2, that carbon, boiling or standing leave.

    Carbon takes both. Free chlorine leaves water that boils, or stands open for a day; chloramine
    does not.
    """
    if case.dechlorinated_by == "carbon":
        return 0.0
    if case.dechlorinated_by in ("boiling", "standing"):
        return case.chloramine
    return case.chlorine + case.chloramine


def chlorine_left(case: Case, volume: Number, place: str) -> Number:
    """Return what is left of both in a liquor of ``volume`` litres, mg/L as Cl2."""
    left = to_remove(case)
    for dose in case.salts:
        if dose.to == place and dose.salt in SULFITES:
            left = left - dose.grams * dose.assay / metabisulfite_dose(1.0, volume, dose.salt)
    return flat(left)


def metabisulfite_for(case: Case, volume: Number, salt: str, assay: float) -> Number:
    """Return the grams of a metabisulfite for a liquor of ``volume`` litres, with some to spare."""
    return EXCESS * metabisulfite_dose(to_remove(case), volume, salt) / assay
