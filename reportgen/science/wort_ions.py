"""Ions of the wort: what malt brings, and the calcium that grains and trub keep.

A liquor's figures alone are not those of a beer. Malt brings most of the magnesium and nearly all
of the potassium and phosphate; half of the calcium stays behind as phosphate and oxalate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from reportgen.science.method import method
from reportgen.science.number import Number, nominal

MALT_IONS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "calcium": (2.9, 1.2),
        "magnesium": (7.7, 2.0),
        "sodium": (1.0, 0.7),
        "potassium": (44.0, 10.0),
        "phosphate": (60.0, 20.0),
    }
)
"""What the extract of pale barley malt brings, mg/L for each degree P, with U (k = 2).

Potassium, calcium and magnesium are between the worts of A. Holzmann and A. Piendl 1977 (J. Am.
Soc. Brew. Chem. 35:1; 550, 35 and 100 mg/L at 12 degP) and of J. Palmer and C. Kaminski 2013
(Water; 70 mg/L of magnesium at 10 degP). Calcium is what is left of the malt's own. Sodium is what
barley of 26 and malt of 117 mg/kg bring if all of it dissolves (Montana State University, Barley
Breeding, Malt Mineral Profile); the 30 mg/L of the worts above are partly the liquor's. Phosphate
counts all of it, as PO4. Of chloride and sulfate no analysis tells the malt's part: worts, their
liquor's included, hold 40 to 210 and 1 to 110 mg/L (the same)."""

SURE_CLASSES = frozenset({"pale", "pilsner", "munich", "acidulated"})
"""Classes of malt for which the figures were found; for the others they are taken as they are and
their U is doubled."""

CALCIUM_KEPT, CALCIUM_KEPT_U = 0.45, 0.15
"""Share of the calcium of liquor and salts that reaches the wort, with U (k = 2): half to 60 % is
lost with grains and trub (D.S. Taylor in F.G. Priest and G.G. Stewart 2006, Handbook of Brewing,
2nd ed., ch. 4)."""

@method
def malt_ions(malt_class: str, extract: Number) -> dict[str, Number]:
    """Ions that the malt of one class brings into wort of a strength.

    Formula:
        c = a P, a by ion from a table
    Inputs:
        malt_class: name of a class of malt; an adjunct or sugar brings none
        extract: degP, 0 to 40 (trusted 0 to 20); that comes of this malt, by mass balance
    Result: mg/L by ion: calcium, magnesium, sodium, potassium, phosphate
    Uncertainty: that of malt_ion_uncertainty, U = 25 to 70 %
    Source: A. Holzmann and A. Piendl 1977, J. Am. Soc. Brew. Chem. 35:1; J. Palmer and C. Kaminski
        2013, Water; sodium Montana State University, Barley Breeding, Malt Mineral Profile;
        phosphate from memory
    """
    none = malt_class in ("adjunct", "sugar")
    return {ion: (0.0 if none else value) * extract for ion, (value, _) in MALT_IONS.items()}


@method
def malt_ion_uncertainty(malt_class: str, ion: str) -> float:
    """Relative standard uncertainty of the ions that malt brings.

    Formula:
        u = U / (2 a), of the table; doubled for classes without figures of their own
    Inputs:
        malt_class: name of a class of malt
        ion: name of an ion of the table
    Result: standard uncertainty (k = 1) over the value
    Uncertainty: a judgement, good to 30 %
    Source: spread of A. Holzmann and A. Piendl 1977, J. Am. Soc. Brew. Chem. 35:1, and of others
    """
    value, wide = MALT_IONS[ion]
    return wide / (2.0 * value) * (1.0 if malt_class in SURE_CLASSES else 2.0)


@method
def wort_ions(
    liquor: Mapping[str, Number],
    grist: Sequence[tuple[str, Number]],
    calcium_kept: Number = CALCIUM_KEPT,
) -> dict[str, Number]:
    """Ions of the wort, from those of liquor and salts in it and from the malt.

    Formula:
        c = c_liquor + sum of a P_i; calcium c_liquor times the share kept
    Inputs:
        liquor: mg/L by ion; as if nothing but liquor and salts were in the wort
        grist: pairs of class and degP; each malt and the extract that comes of it
        calcium_kept: fraction, 0 to 1 (trusted 0.3 to 0.7); share of the liquor's that is left
    Result: mg/L by ion; chloride and sulfate stay as in the liquor
    Uncertainty: as the malts, U = 25 % of magnesium and potassium, 40 % of calcium, 70 % of sodium
        that come of malt
    Source: mass balance; A. Holzmann and A. Piendl 1977, J. Am. Soc. Brew. Chem. 35:1; loss of
        calcium, D.S. Taylor in F.G. Priest and G.G. Stewart 2006, Handbook of Brewing, 2nd ed.
    """
    ions: dict[str, Number] = dict(liquor)
    ions["calcium"] = calcium_kept * ions.get("calcium", 0.0)
    for malt_class, extract in grist:
        if nominal(extract) < 0.0:
            raise ValueError("the extract that comes of a malt cannot be below 0")
        for ion, value in malt_ions(malt_class, extract).items():
            ions[ion] = ions.get(ion, 0.0) + value
    return ions
