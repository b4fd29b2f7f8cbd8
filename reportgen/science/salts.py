"""Brewing salts: what a weighed gram brings into the liquor, and how much dissolves."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from msgspec import Struct

from reportgen.science.method import method
from reportgen.science.number import Number
from reportgen.science.table import interpolated

ATOMIC_WEIGHTS: Mapping[str, float] = MappingProxyType(
    {
        "H": 1.0080,
        "C": 12.011,
        "N": 14.007,
        "O": 15.999,
        "Na": 22.990,
        "Mg": 24.305,
        "P": 30.974,
        "S": 32.06,
        "Cl": 35.45,
        "K": 39.098,
        "Ca": 40.078,
    }
)
"""Abridged standard atomic weights (CIAAW 2021; Prohaska et al. 2022, Pure Appl. Chem. 94:573)."""


@method
def molar_mass(atoms: Mapping[str, int]) -> float:
    """Molar mass of a substance, from the atoms in its formula.

    Formula:
        M = sum_i n_i A_i
    Inputs:
        atoms: count by element; of H, C, N, O, Na, Mg, P, S, Cl, K and Ca
    Result: g/mol
    Uncertainty: U = 0.03 % of the value, at most, for the ions of a liquor; chlorine and sulfur
        vary in nature
    Source: abridged standard atomic weights, CIAAW 2021, Prohaska et al. 2022, Pure Appl. Chem.
        94(5):573, Table 2, doi 10.1515/pac-2019-0603
    """
    return sum(ATOMIC_WEIGHTS[element] * count for element, count in atoms.items())


ION_MASS: Mapping[str, float] = MappingProxyType(
    {
        "calcium": molar_mass({"Ca": 1}),
        "magnesium": molar_mass({"Mg": 1}),
        "sodium": molar_mass({"Na": 1}),
        "potassium": molar_mass({"K": 1}),
        "chloride": molar_mass({"Cl": 1}),
        "sulfate": molar_mass({"S": 1, "O": 4}),
        "nitrate": molar_mass({"N": 1, "O": 3}),
        "bicarbonate": molar_mass({"H": 1, "C": 1, "O": 3}),
        "carbonate": molar_mass({"C": 1, "O": 3}),
        "ammonium": molar_mass({"N": 1, "H": 4}),
    }
)
"""Molar mass of each ion, g/mol."""

ION_CHARGE: Mapping[str, int] = MappingProxyType(
    {
        "calcium": 2,
        "magnesium": 2,
        "sodium": 1,
        "potassium": 1,
        "ammonium": 1,
        "chloride": -1,
        "sulfate": -2,
        "nitrate": -1,
        "bicarbonate": -1,
        "carbonate": -2,
    }
)
"""Charge number of each ion."""


class SaltFormula(Struct, frozen=True):
    """A salt as it is bought.

    ``ions`` is mg of each ion from 1 g (the mg/L that 1 g gives in 1 L). Bicarbonate there is the
    alkalinity expressed as bicarbonate, as a water report prints it; ``alkalinity`` is the same
    in mEq per g, negative for a salt that uses alkalinity up. ``solubility`` is g of the salt per
    L of water at 20 degC, None where it does not limit brewing use.
    """

    key: str
    name: str
    formula: str
    molar_mass: float
    ions: Mapping[str, float]
    alkalinity: float
    solubility: float | None
    note: str


def _salt(
    key: str,
    name: str,
    formula: str,
    atoms: Mapping[str, int],
    ions: Mapping[str, int],
    alkalinity: int = 0,
    solubility: float | None = None,
    note: str = "",
) -> SaltFormula:
    """Build a salt from its atoms, its ions (count per formula) and its mEq alkalinity per mmol."""
    mass = molar_mass(atoms)
    released = {ion: 1000.0 * count * ION_MASS[ion] / mass for ion, count in ions.items()}
    if alkalinity:
        released["bicarbonate"] = 1000.0 * alkalinity * ION_MASS["bicarbonate"] / mass
    return SaltFormula(
        key,
        name,
        formula,
        mass,
        MappingProxyType(released),
        1000.0 * alkalinity / mass,
        solubility,
        note,
    )


_CALCIUM_CHLORIDE = {"calcium": 1, "chloride": 2}

SALTS: Mapping[str, SaltFormula] = MappingProxyType(
    {
        salt.key: salt
        for salt in (
            _salt(
                "gypsum",
                "gypsum (calcium sulfate dihydrate)",
                "CaSO4·2H2O",
                {"Ca": 1, "S": 1, "O": 6, "H": 4},
                {"calcium": 1, "sulfate": 1},
                solubility=2.55,
                note="dissolves slowly, and no better in hot liquor; stir into the grist",
            ),
            _salt(
                "calcium_sulfate_anhydrous",
                "calcium sulfate, anhydrous",
                "CaSO4",
                {"Ca": 1, "S": 1, "O": 4},
                {"calcium": 1, "sulfate": 1},
                solubility=2.02,
                note="settles as gypsum, so no more dissolves than of gypsum",
            ),
            _salt(
                "calcium_chloride_dihydrate",
                "calcium chloride dihydrate",
                "CaCl2·2H2O",
                {"Ca": 1, "Cl": 2, "O": 2, "H": 4},
                _CALCIUM_CHLORIDE,
                note="draws water from the air; keep closed",
            ),
            _salt(
                "calcium_chloride_anhydrous",
                "calcium chloride, anhydrous",
                "CaCl2",
                {"Ca": 1, "Cl": 2},
                _CALCIUM_CHLORIDE,
                note="draws water from the air and warms the water it dissolves in",
            ),
            _salt(
                "calcium_chloride_hexahydrate",
                "calcium chloride hexahydrate",
                "CaCl2·6H2O",
                {"Ca": 1, "Cl": 2, "O": 6, "H": 12},
                _CALCIUM_CHLORIDE,
                note="half of it is water: not to be taken for the dihydrate",
            ),
            _salt(
                "epsom_salt",
                "Epsom salt (magnesium sulfate heptahydrate)",
                "MgSO4·7H2O",
                {"Mg": 1, "S": 1, "O": 11, "H": 14},
                {"magnesium": 1, "sulfate": 1},
            ),
            _salt(
                "magnesium_chloride_hexahydrate",
                "magnesium chloride hexahydrate",
                "MgCl2·6H2O",
                {"Mg": 1, "Cl": 2, "O": 6, "H": 12},
                {"magnesium": 1, "chloride": 2},
            ),
            _salt(
                "table_salt",
                "sodium chloride, not iodised",
                "NaCl",
                {"Na": 1, "Cl": 1},
                {"sodium": 1, "chloride": 1},
            ),
            _salt(
                "potassium_chloride",
                "potassium chloride",
                "KCl",
                {"K": 1, "Cl": 1},
                {"potassium": 1, "chloride": 1},
            ),
            _salt(
                "sodium_sulfate",
                "sodium sulfate, anhydrous",
                "Na2SO4",
                {"Na": 2, "S": 1, "O": 4},
                {"sodium": 2, "sulfate": 1},
            ),
            _salt(
                "baking_soda",
                "sodium hydrogen carbonate",
                "NaHCO3",
                {"Na": 1, "H": 1, "C": 1, "O": 3},
                {"sodium": 1},
                alkalinity=1,
            ),
            _salt(
                "chalk",
                "calcium carbonate",
                "CaCO3",
                {"Ca": 1, "C": 1, "O": 3},
                {"calcium": 1},
                alkalinity=2,
                solubility=0.06,
                note="hardly dissolves without added carbon dioxide; counted as if all dissolved",
            ),
            _salt(
                "slaked_lime",
                "calcium hydroxide",
                "Ca(OH)2",
                {"Ca": 1, "O": 2, "H": 2},
                {"calcium": 1},
                alkalinity=2,
                solubility=1.7,
                note="strongly alkaline: protect eyes and skin",
            ),
            _salt(
                "potassium_metabisulfite",
                "potassium metabisulfite",
                "K2S2O5",
                {"K": 2, "S": 2, "O": 5},
                {"potassium": 2, "sulfate": 2},
                alkalinity=-2,
                note="ions once oxidised; sulfites are an allergen",
            ),
            _salt(
                "sodium_metabisulfite",
                "sodium metabisulfite",
                "Na2S2O5",
                {"Na": 2, "S": 2, "O": 5},
                {"sodium": 2, "sulfate": 2},
                alkalinity=-2,
                note="ions once oxidised; sulfites are an allergen",
            ),
        )
    }
)
"""The salts by their plain trade names."""

SULFITES = ("potassium_metabisulfite", "sodium_metabisulfite")
"""Salts that are kept against chlorine; an allergen."""

CHLORINE_MASS = 2.0 * ION_MASS["chloride"]
"""Molar mass of Cl2, g/mol: chlorine and chloramine are both reported 'as Cl2'."""


@method
def ion_increase(
    salt: str, grams: Number, volume: Number, assay: Number = 1.0
) -> dict[str, Number]:
    """Ions that a weighed salt adds to a liquor.

    Bicarbonate is the alkalinity added, expressed as bicarbonate; alkalinity is the same quantity
    in mEq/L, so count one of the two. Chalk is counted as if all of it dissolved, metabisulfite as
    if all of it were oxidised to sulfate.

    Formula:
        ion = 1000 g a n M_ion / (M_salt V)
    Inputs:
        salt: key of SALTS
        grams: g, 0 to 100000; weight of the salt as it comes
        volume: L, 0.01 to 10000
        assay: fraction, 0.01 to 1; share of the pure salt in what is weighed
    Result: mapping of ion to mg/L, with alkalinity in mEq/L
    Uncertainty: U = 3 % of the value from the assay of food-grade salt (1 to 3 %), up to 15 % for
        calcium chloride that has drawn damp (common practice); 0.02 % from the atomic weights
    Source: stoichiometry; abridged standard atomic weights, CIAAW 2021, Prohaska et al. 2022,
        Pure Appl. Chem. 94(5):573, Table 2, doi 10.1515/pac-2019-0603
    """
    kind = SALTS[salt]
    strength = grams * assay / volume
    increase: dict[str, Number] = {ion: mass * strength for ion, mass in kind.ions.items()}
    increase["alkalinity"] = kind.alkalinity * strength
    return increase


_GYPSUM_MASS = SALTS["gypsum"].molar_mass / SALTS["calcium_sulfate_anhydrous"].molar_mass

_CALCIUM_SULFATE_TABLE = (
    (0.0, 0.1759),
    (10.0, 0.1928),
    (18.0, 0.2016),
    (25.0, 0.2080),
    (30.0, 0.2090),
    (40.0, 0.2097),
    (55.0, 0.2009),
    (65.0, 0.1932),
    (75.0, 0.1847),
    (100.0, 0.1619),
)
"""Temperature, degC, and g CaSO4 in a saturated solution per 100 mL (Hulett and Allen 1902)."""


@method
def gypsum_solubility(temperature: Number) -> Number:
    """Most gypsum that pure water can hold.

    Hot water holds no more than cold, and dissolution is slow: gypsum is better stirred into the
    grist than into the hot liquor. Calcium or sulfate already in the liquor leaves room for less.

    Formula:
        straight lines between measured solubilities of CaSO4, times 172.16/136.13
    Inputs:
        temperature: degC, 0 to 100
    Result: g gypsum (dihydrate) per L
    Uncertainty: U = 0.15 g gypsum, the spread of published measurements, a litre
    Source: G.A. Hulett and L.E. Allen 1902, J. Am. Chem. Soc. 24:667, doi 10.1021/ja02021a013;
        values as in A. Seidell 1940, Solubilities of Inorganic and Metal Organic Compounds
    """
    return 10.0 * _GYPSUM_MASS * interpolated(_CALCIUM_SULFATE_TABLE, temperature)


@method
def metabisulfite_dose(
    chlorine: Number, volume: Number, salt: str = "potassium_metabisulfite"
) -> Number:
    """Metabisulfite that just removes chlorine or chloramine from a liquor.

    One mole of metabisulfite gives two of hydrogen sulfite, and each removes one mole of
    free chlorine or of monochloramine. Both are reported as mg/L Cl2. Brewers commonly give half
    as much again, because old metabisulfite has lost strength (common practice).

    Formula:
        HSO3- + HOCl = SO4-- + Cl- + 2 H+;  HSO3- + NH2Cl + H2O = SO4-- + Cl- + NH4+ + H+
        g = c V M_salt / (2 M_Cl2 1000)
    Inputs:
        chlorine: mg/L, 0 to 20 (trusted 0 to 5); free chlorine plus chloramine as Cl2
        volume: L, 0 to 10000
        salt: potassium_metabisulfite or sodium_metabisulfite
    Result: g of the salt
    Uncertainty: U = 0.1 % of the value from the stoichiometry; the strength of the salt is not
        known better than 10 % unless it is fresh
    Source: stoichiometry of dechlorination; White's Handbook of Chlorination and Alternative
        Disinfectants, 5th ed. 2010, ch. 11
    """
    return chlorine * volume * SALTS[salt].molar_mass / (2.0 * CHLORINE_MASS * 1000.0)
