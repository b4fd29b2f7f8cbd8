"""Acids for liquor and mash: strength of the bottle, how far it ionises, how much is needed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from types import MappingProxyType

from msgspec import Struct

from reportgen.science.carbonate import (
    charge,
    hydroxide_less_hydrogen,
    log_activity,
)
from reportgen.science.method import method
from reportgen.science.number import Number, nominal
from reportgen.science.salts import molar_mass
from reportgen.science.table import interpolated


class AcidFormula(Struct, frozen=True):
    """An acid as it is bought.

    ``pks`` are the pK of each step at 25 degC and zero ionic strength; a step that is complete at
    any brewing pH is given as -3. ``anion`` is the ion it leaves, ``anion_mass`` that ion's molar
    mass in g/mol. ``densities`` are (mass fraction, g/mL at 20 degC).
    """

    key: str
    name: str
    molar_mass: float
    pks: tuple[float, ...]
    anion: str
    anion_mass: float
    densities: tuple[tuple[float, float], ...]


_STRONG = -3.0

ACIDS: Mapping[str, AcidFormula] = MappingProxyType(
    {
        acid.key: acid
        for acid in (
            AcidFormula(
                "lactic",
                "lactic acid",
                molar_mass({"C": 3, "H": 6, "O": 3}),
                (3.86,),
                "lactate",
                molar_mass({"C": 3, "H": 5, "O": 3}),
                (
                    (0.00, 0.9982),
                    (0.10, 1.0199),
                    (0.20, 1.0439),
                    (0.32, 1.0728),
                    (0.40, 1.0915),
                    (0.52, 1.1201),
                    (0.60, 1.1392),
                    (0.72, 1.1670),
                    (0.80, 1.1848),
                    (0.90, 1.2068),
                ),
            ),
            AcidFormula(
                "phosphoric",
                "phosphoric acid",
                molar_mass({"H": 3, "P": 1, "O": 4}),
                (2.15, 7.20, 12.35),
                "phosphate",
                molar_mass({"P": 1, "O": 4}),
                (
                    (0.00, 0.9982),
                    (0.05, 1.0254),
                    (0.10, 1.0531),
                    (0.20, 1.1135),
                    (0.30, 1.1804),
                    (0.40, 1.2536),
                    (0.50, 1.3350),
                    (0.60, 1.4260),
                    (0.75, 1.5790),
                    (0.85, 1.6890),
                ),
            ),
            AcidFormula(
                "hydrochloric",
                "hydrochloric acid",
                molar_mass({"H": 1, "Cl": 1}),
                (_STRONG,),
                "chloride",
                molar_mass({"Cl": 1}),
                (
                    (0.00, 0.9982),
                    (0.10, 1.0476),
                    (0.20, 1.0980),
                    (0.30, 1.1492),
                    (0.40, 1.1977),
                ),
            ),
            AcidFormula(
                "sulfuric",
                "sulfuric acid",
                molar_mass({"H": 2, "S": 1, "O": 4}),
                (_STRONG, 1.99),
                "sulfate",
                molar_mass({"S": 1, "O": 4}),
                (
                    (0.00, 0.9982),
                    (0.05, 1.0318),
                    (0.10, 1.0661),
                    (0.20, 1.1398),
                    (0.30, 1.2191),
                    (0.40, 1.3028),
                    (0.50, 1.3952),
                    (0.60, 1.4987),
                    (0.70, 1.6105),
                    (0.80, 1.7272),
                    (0.84, 1.7693),
                    (0.88, 1.8022),
                    (0.90, 1.8144),
                    (0.92, 1.8240),
                    (0.94, 1.8312),
                    (0.96, 1.8355),
                    (0.98, 1.8361),
                    (1.00, 1.8305),
                ),
            ),
            AcidFormula(
                "citric",
                "citric acid",
                molar_mass({"C": 6, "H": 8, "O": 7}),
                (3.13, 4.76, 6.40),
                "citrate",
                molar_mass({"C": 6, "H": 5, "O": 7}),
                (
                    (0.00, 0.9982),
                    (0.05, 1.0189),
                    (0.10, 1.0402),
                    (0.20, 1.0858),
                    (0.30, 1.1346),
                ),
            ),
        )
    }
)
"""The acids used on liquor and mash, by plain key."""


LIQUOR_STRENGTH = 0.005
"""Ionic strength of an ordinary liquor, mol/L."""


def _conditional_pks(acid: str, ionic_strength: Number = LIQUOR_STRENGTH) -> tuple[Number, ...]:
    """Return the pK of each step of an acid at an ionic strength, mol/L, and 25 degC."""
    activity = log_activity(ionic_strength, 25.0)
    return tuple(
        pk - (2 * step - 1) * activity if pk > _STRONG else pk
        for step, pk in enumerate(ACIDS[acid].pks, 1)
    )


def _given_up(pks: Sequence[Number], ph: Number) -> Number:
    """Return the hydrogen ions given up per mole, from the pK of each step: no range is checked."""
    share: Number = 1.0
    total: Number = 1.0
    given: Number = 0.0
    for count, pk in enumerate(pks, 1):
        share = share * 10.0 ** (ph - pk)
        total = total + share
        given = given + count * share
    return given / total


@method
def ionised_equivalents(acid: str, ph: Number, ionic_strength: Number = LIQUOR_STRENGTH) -> Number:
    """Hydrogen ions that one mole of an acid has given up at a pH.

    Formula:
        f = sum_j j b_j/sum_j b_j;  b_0 = 1, b_j = b_(j-1) 10^(pH - pK_j + (2 j - 1) lg)
        lg = -log10 of the activity coefficient of a single charge
    Inputs:
        acid: key of ACIDS
        ph: pH, 0 to 14 (trusted 2 to 10)
        ionic_strength: mol/L, 0 to 0.5 (trusted 0 to 0.1)
    Result: mEq per mmol
    Uncertainty: U = 0.02 mEq per mmol, near pH 5.4; calcium binds some phosphate and adds 1 % to
        its acidity
    Source: W. Stumm and J.J. Morgan 1996, Aquatic Chemistry, 3rd ed., ch. 3; dissociation
        constants of CRC Handbook of Chemistry and Physics, 102nd ed. 2021, and, for phosphoric
        and sulfuric acid, of D.K. Nordstrom et al. 1990, ACS Symp. Ser. 416:398
    """
    return _given_up(_conditional_pks(acid, ionic_strength), ph)


@method
def acid_density(acid: str, mass_fraction: Number) -> Number:
    """Density of an aqueous acid at 20 degC.

    Formula:
        straight lines between tabulated densities
    Inputs:
        acid: key of ACIDS
        mass_fraction: fraction, 0 to 1 (trusted 0 to 0.9); g acid per g of solution
    Result: g/mL at 20 degC
    Uncertainty: U = 0.003 g/mL; 0.006 g/mL for lactic acid above 80 %
    Source: CRC Handbook of Chemistry and Physics, 102nd ed. 2021, Concentrative Properties of
        Aqueous Solutions; phosphoric acid from 50 % Perry's Chemical Engineers' Handbook, 7th ed.,
        section 2 (from memory); lactic acid above 80 % the same line carried on, inside the 1.20
        to 1.21 of the British Pharmacopoeia at 88 to 92 %
    """
    return interpolated(ACIDS[acid].densities, mass_fraction)


@method
def acid_normality(acid: str, mass_fraction: Number) -> Number:
    """Moles of acid in a litre of the bottled acid.

    Formula:
        c = 1000 rho w / M
    Inputs:
        acid: key of ACIDS
        mass_fraction: fraction, 0 to 1; g acid per g of solution
    Result: mol/L at 20 degC
    Uncertainty: U = 1 % of the value from the density (0.3 % but for lactic acid above 80 %); the
        label's strength commonly means within 1 % (hydrochloric) to 4 % (lactic acid)
    Source: definition; density as acid_density
    """
    return 1000.0 * acid_density(acid, mass_fraction) * mass_fraction / ACIDS[acid].molar_mass


_LOWEST, _HIGHEST = 0.0, 14.0


@method
def liquor_ph_after_acid(
    alkalinity: Number, start_ph: Number, acids: Mapping[str, Number], temperature: float = 20.0
) -> Number:
    """PH of a liquor right after acids are stirred in, its carbon dioxide still in it.

    As carbon dioxide escapes the pH rises again; the alkalinity left stays as it is.

    Formula:
        0 = Alk - C z(pH) - w(pH) - sum n f(pH), C = (Alk - w(pH0))/z(pH0); z of carbonate.charge,
        w = [OH-] - [H+], f of ionised_equivalents
    Inputs:
        alkalinity: mEq/L, -20 to 20 (trusted -2 to 10)
        start_ph: pH, 4.5 to 11 (trusted 6 to 9)
        acids: mmol/L by acid; keys of ACIDS
        temperature: degC, 0 to 100 (trusted 0 to 80)
    Result: pH at that temperature
    Uncertainty: U = 0.1 pH: a fifth of the carbon dioxide may escape while it is stirred; what is
        not known of alkalinity and acid comes on top, most of all where little of either is left
    Source: W. Stumm and J.J. Morgan 1996, Aquatic Chemistry, 3rd ed., ch. 4; constants of
        Plummer and Busenberg 1982, Geochim. Cosmochim. Acta 46:1011
    """
    strength = 0.0015 * max(nominal(alkalinity), 0.0)
    before = hydroxide_less_hydrogen(start_ph, temperature, strength)
    # Where there is no alkalinity there is no carbonate to speak of; below nought it is acid.
    total: Number = 0.0
    if nominal(alkalinity) > max(0.0, nominal(before)):
        total = (alkalinity - before) / charge(start_ph, temperature, strength)
    steps = {acid: _conditional_pks(acid) for acid in acids}

    def surplus(
        alkalinity: Number, total: Number, acids: Mapping[str, Number], ph: float
    ) -> Number:
        held = total * charge(ph, temperature, strength)
        given = sum((n * _given_up(steps[acid], ph) for acid, n in acids.items()), 0.0)
        return alkalinity - held - hydroxide_less_hydrogen(ph, temperature, strength) - given

    plain = {acid: nominal(moles) for acid, moles in acids.items()}
    known = partial(surplus, nominal(alkalinity), nominal(total), plain)
    low, high = _LOWEST, _HIGHEST
    if nominal(known(low)) < 0.0 or nominal(known(high)) > 0.0:
        raise ValueError(f"the liquor's pH would lie outside {low:g} to {high:g}")
    # It falls steadily with pH: fifty halvings leave nothing of the bracket to be seen.
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if nominal(known(middle)) > 0.0 else (low, middle)
    ph = 0.5 * (low + high)
    carried = surplus(alkalinity, total, acids, ph)
    if isinstance(carried, float):
        return ph
    # The implicit derivative: the surplus carries the uncertainty, the slope turns it into pH.
    slope = nominal(known(ph + 1e-5) - known(ph - 1e-5)) / 2e-5
    return ph - carried / slope


@method
def acid_millilitres(equivalents: Number, acid: str, mass_fraction: Number, ph: Number) -> Number:
    """Volume of bottled acid that gives an amount of hydrogen ion at a pH.

    Formula:
        mL = mEq / (c f(pH)), c mol/L of the bottle, f the hydrogen ions given up per mole
    Inputs:
        equivalents: mEq, 0 to 1000000
        acid: key of ACIDS
        mass_fraction: fraction, 0.001 to 1; g acid per g of solution
        ph: pH, 3 to 9; the pH to be reached
    Result: mL at 20 degC
    Uncertainty: as the strength of the bottle, commonly 1 to 4 %
    Source: definition; see acid_normality and ionised_equivalents
    """
    return equivalents / (acid_normality(acid, mass_fraction) * ionised_equivalents(acid, ph))


@method
def acid_anion_increase(acid: str, equivalents: Number, ph: Number, volume: Number) -> Number:
    """Anion that an acid leaves in the liquor.

    Chloride and sulfate belong in the ion table; lactate, citrate and phosphate are given as the
    fully ionised ion, whatever the pH.

    Formula:
        mg/L = mEq M_anion / (f(pH) V)
    Inputs:
        acid: key of ACIDS
        equivalents: mEq, 0 to 1000000; hydrogen ions given up
        ph: pH, 3 to 9; the pH reached
        volume: L, 0.01 to 10000
    Result: mg/L of the ion named by ACIDS[acid].anion
    Uncertainty: U = 2 % of the value, from the ionisation
    Source: stoichiometry; see ionised_equivalents
    """
    return equivalents / ionised_equivalents(acid, ph) * ACIDS[acid].anion_mass / volume
