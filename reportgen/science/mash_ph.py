"""Mash pH: what the grist, the liquor and the acids settle at, and the acid for a target."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from msgspec import Struct

from reportgen.science.acid import ACIDS, _conditional_pks, _given_up, ionised_equivalents
from reportgen.science.carbonate import log_activity, pk1, pk2
from reportgen.science.colour import ebc_to_srm
from reportgen.science.method import method
from reportgen.science.number import Number, nominal
from reportgen.science.water import (
    CALCIUM_PER_ACID,
    EQUIVALENT_MASS,
    MAGNESIUM_PER_ACID,
    WORT_SLOPE,
    residual_alkalinity,
)


class MaltAcidity(Struct, frozen=True):
    """One malt of the grist: mass in kg, its pH in distilled water, its buffering.

    ``buffering`` is mEq per kg and pH unit.
    """

    mass: Number
    distilled_water_mash_ph: Number
    buffering: Number


_BASE_BUFFERING = 40.0
_SPECIALTY_BUFFERING = 35.0
_ROOM = 20.0
_STRENGTH = 0.005
_MOST_CARBONATE = 60.0

MALT_CLASSES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "pale": (5.70, _BASE_BUFFERING),
        "pilsner": (5.75, _BASE_BUFFERING),
        "wheat": (6.00, _BASE_BUFFERING),
        "munich": (5.55, _BASE_BUFFERING),
        "crystal": (4.95, _SPECIALTY_BUFFERING),
        "roasted": (4.50, _SPECIALTY_BUFFERING),
        "acidulated": (5.75, _BASE_BUFFERING),
        "adjunct": (6.00, 20.0),
    }
)
"""pH in distilled water and buffering, mEq/(kg pH), of each class of malt: estimates.

The buffering of base malt is the middle of what is published and they do not agree: the rule that
1 % of acidulated malt of 2 to 4 % lactic acid lowers the mash by 0.1 means 22 to 44; a mash slope
of 0.052 pH per mEq/L at 3 L/kg means 49 to 58; the German dosing table (per 100 kg and 0.1 pH:
60 mL of 80 % lactic, 53 mL of 37 % hydrochloric or 17 mL of 98 % sulfuric acid) means 61 to 64.
A brewer's own measured mashes are worth more than this table."""

ACIDULATED_ACID = 300.0
"""Lactic acid in acidulated malt, mmol/kg (2.7 %); texts give 1 to 5 %, commonly 2 to 4 %."""


@method
def malt_acidity(malt_class: str, colour_ebc: Number | None = None) -> tuple[Number, Number]:
    """Default acidity of a malt by its class, and by colour for crystal malt.

    Acidulated malt is counted as its base malt; the lactic acid on it goes into the mash as
    acidulated_mmol (see acidulated_malt_acid).

    Formula:
        crystal: pH = 5.7 - (6 + 0.45 L)/35, L = 12.7/25 EBC; other classes: a table
    Inputs:
        malt_class: key of MALT_CLASSES
        colour_ebc: EBC, 0 to 2000; only for crystal malt
    Result: pH in distilled water, and buffering in mEq/(kg pH)
    Uncertainty: as acidity_uncertainty: U = 0.15 pH for base malts, 0.3 for others; U = 16 mEq/(kg
        pH)
    Source: estimates inside the ranges of D.E. Briggs et al. 2004, Brewing: Science and Practice,
        ch. 4 (pale malt 5.8 to 6.0) and of trade texts (base malt 5.7 to 5.8, crystal 4.5 to 4.8,
        chocolate 4.3 to 4.5); the acidity of crystal malt, 6 + 0.45 L mEq/kg, from memory
    """
    ph, buffering = MALT_CLASSES[malt_class]
    if malt_class == "crystal" and colour_ebc is not None:
        return 5.7 - (6.0 + 0.45 * ebc_to_srm(colour_ebc)) / _SPECIALTY_BUFFERING, buffering
    return ph, buffering


@method
def acidulated_malt_acid(mass: Number, acid_fraction: Number | None = None) -> Number:
    """Lactic acid that acidulated malt brings into the mash.

    Formula:
        n = 300 m, or 1e6 w m/90.08 when the maltster states the acid by mass
    Inputs:
        mass: kg, 0 to 100
        acid_fraction: fraction, 0 to 0.06; lactic acid by mass
    Result: mmol
    Uncertainty: U = 30 % of the value
    Source: D.E. Briggs et al. 2004, Brewing: Science and Practice, p. 29 (1 to 5 %, typically
        2 %); German texts: 2 to 4 %, and 4 % of the grist for ten German degrees of residual
        alkalinity
    """
    if acid_fraction is None:
        return ACIDULATED_ACID * mass
    return 1e6 * acid_fraction * mass / ACIDS["lactic"].molar_mass


class _ChargeSums(Struct, frozen=True):
    """The sums of the charge balance: everything that does not depend on the pH."""

    volume: Number
    buffering: Number
    balance_ph: Number
    carbonate: Number
    carbonate_charge: Number
    hardness: Number
    acids: tuple[tuple[str, Number], ...]
    bicarbonate: Number
    base: Number


_PKS = {acid: _conditional_pks(acid, _STRENGTH) for acid in ACIDS}
_ACTIVITY = float(log_activity(_STRENGTH))
_PK1 = float(pk1(_ROOM)) - _ACTIVITY
_PK2 = float(pk2(_ROOM)) - 3.0 * _ACTIVITY
_PKW = 14.165
_FREE = 1000.0 * 10.0**_ACTIVITY


def _room_charge(ph: Number) -> Number:
    """Return the mean carbonate charge at room temperature: the hot path of the solver."""
    one = 10.0 ** (ph - _PK1)
    two = one * 10.0 ** (ph - _PK2)
    return (one + 2.0 * two) / (1.0 + one + two)


def _gather(
    malts: Sequence[MaltAcidity],
    mash_liquor: Number,
    alkalinity: Number,
    calcium: Number,
    magnesium: Number,
    liquor_ph: Number,
    acid_equivalents: Mapping[str, Number],
    bicarbonate_mmol: Number,
    lime_mmol: Number,
    acidulated_mmol: Number,
) -> _ChargeSums:
    """Sum up the grist, the liquor and what is dosed."""
    buffering = sum((m.mass * m.buffering for m in malts), 0.0)
    if nominal(buffering) <= 0.0:
        raise ValueError("a mash pH needs a grist with some buffering")
    z = _room_charge(liquor_ph)
    strong = 0.0
    carbonate: Number = 0.0
    if nominal(alkalinity) > 0.0:
        carbonate = alkalinity / z
        if nominal(carbonate) > _MOST_CARBONATE:
            raise ValueError(
                f"alkalinity {nominal(alkalinity):.3g} mEq/L at pH {nominal(liquor_ph):.3g} "
                "would be more carbon dioxide than water holds"
            )
    else:
        # No carbonate to speak of: what is below zero is strong acid left over.
        strong = mash_liquor * alkalinity
    acids = [(acid, amount) for acid, amount in acid_equivalents.items()]
    acids.append(("lactic", acidulated_mmol))
    return _ChargeSums(
        mash_liquor,
        buffering,
        sum((m.mass * m.buffering * m.distilled_water_mash_ph for m in malts), 0.0) / buffering,
        mash_liquor * carbonate,
        z,
        mash_liquor
        * (
            calcium / EQUIVALENT_MASS["calcium"] / CALCIUM_PER_ACID
            + magnesium / EQUIVALENT_MASS["magnesium"] / MAGNESIUM_PER_ACID
        ),
        tuple(acids),
        bicarbonate_mmol,
        2.0 * lime_mmol + strong,
    )


def _surplus(mash: _ChargeSums, ph: Number) -> Number:
    """Return the base left over at a pH, mEq: positive below the pH the mash settles at."""
    z = _room_charge(ph)
    surplus = (
        mash.buffering * (mash.balance_ph - ph)
        + mash.carbonate * (mash.carbonate_charge - z)
        - mash.hardness
        + mash.bicarbonate * (1.0 - z)
        + mash.base
        + mash.volume * _FREE * (10.0 ** (-1.0 * ph) - 10.0 ** (ph - _PKW))
    )
    for acid, amount in mash.acids:
        surplus = surplus - amount * _given_up(_PKS[acid], ph)
    return surplus


def _plain(mash: _ChargeSums) -> _ChargeSums:
    """Return the mash in plain floats."""
    return _ChargeSums(
        nominal(mash.volume),
        nominal(mash.buffering),
        nominal(mash.balance_ph),
        nominal(mash.carbonate),
        nominal(mash.carbonate_charge),
        nominal(mash.hardness),
        tuple((acid, nominal(amount)) for acid, amount in mash.acids if nominal(amount)),
        nominal(mash.bicarbonate),
        nominal(mash.base),
    )


_LOWEST, _HIGHEST = 0.0, 14.0


def _root(mash: _ChargeSums) -> float:
    """Solve for the pH by bisection with a secant step: the surplus falls steadily with pH."""
    low, high = _LOWEST, _HIGHEST
    at_low, at_high = _surplus(mash, low), _surplus(mash, high)
    if at_low < 0.0 or at_high > 0.0:
        raise ValueError(f"the mash pH would lie outside {low:g} to {high:g}")
    ph = min(max(mash.balance_ph, low), high)
    for _ in range(80):
        value = _surplus(mash, ph)
        if value > 0.0:
            low = ph
        else:
            high = ph
        slope = (_surplus(mash, ph + 1e-6) - value) / 1e-6
        step = ph - value / slope
        nearer = step if low < step < high else 0.5 * (low + high)
        if abs(nearer - ph) < 1e-10:
            return float(nearer)
        ph = nearer
    return float(ph)


@method
def charge_balance(
    malts: Sequence[MaltAcidity],
    mash_liquor: Number,
    alkalinity: Number,
    calcium: Number,
    magnesium: Number,
    liquor_ph: Number = 7.6,
    acid_equivalents: Mapping[str, Number] = MappingProxyType({}),
    bicarbonate_mmol: Number = 0.0,
    lime_mmol: Number = 0.0,
    acidulated_mmol: Number = 0.0,
) -> Number:
    """Mash pH, cooled to room temperature, from a balance of charge.

    Every malt gives up or takes up hydrogen ions in proportion to the distance from its own pH in
    distilled water; the carbonate of the liquor, calcium, magnesium, acids and bases do the rest.

    Formula:
        0 = sum m_i b_i (pH_i - pH) + V C (z(pH_w) - z(pH)) - V (Ca/3.5 + Mg/7)
            - sum n f(pH) + n_NaHCO3 (1 - z(pH)) + 2 n_Ca(OH)2 + V ([H+] - [OH-]);  C = Alk/z(pH_w)
    Inputs:
        malts: list of MaltAcidity; mass kg, pH in distilled water, mEq per kg and pH
        mash_liquor: L, 0 to 10000; mash liquor
        alkalinity: mEq/L, -20 to 30 (trusted -2 to 6)
        calcium: mg/L, 0 to 2000 (trusted 0 to 200)
        magnesium: mg/L, 0 to 1000 (trusted 0 to 60)
        liquor_ph: pH, 4.5 to 11 (trusted 6 to 9); as the alkalinity stands
        acid_equivalents: mmol by acid; keys of ACIDS
        bicarbonate_mmol: mmol, 0 to 1000000; sodium bicarbonate put into the mash
        lime_mmol: mmol, -1000000 to 1000000; calcium hydroxide, its calcium not counted here;
            negative for a salt that uses as much alkali up
        acidulated_mmol: mmol, 0 to 1000000; lactic acid on acidulated malt
    Result: pH of a mash sample at room temperature
    Uncertainty: U = 0.05 pH from what the balance leaves out, beside that of the malts and the
        liquor (acidity_uncertainty), which bring 0.15 to 0.2 more
    Source: P. Kolbach 1953 (calcium and magnesium); A.J. deLange 2015, MBAA Tech. Q. 52(1):3
        (proton deficit); W. Stumm and J.J. Morgan 1996 (carbonate)
    """
    mash = _gather(
        malts,
        mash_liquor,
        alkalinity,
        calcium,
        magnesium,
        liquor_ph,
        acid_equivalents,
        bicarbonate_mmol,
        lime_mmol,
        acidulated_mmol,
    )
    plain = _plain(mash)
    ph = _root(plain)
    carried = _surplus(mash, ph)
    if isinstance(carried, float):
        return ph
    # The implicit derivative: the surplus carries the uncertainty, the slope turns it into pH.
    slope = (_surplus(plain, ph + 1e-5) - _surplus(plain, ph - 1e-5)) / 2e-5
    return ph - carried / slope


def _taken(acid_equivalents: Mapping[str, Number], acidulated_mmol: Number) -> Number:
    """Return the alkalinity that acids use up, at the ionisation of pH 5.5."""
    amounts = [*acid_equivalents.items(), ("lactic", acidulated_mmol)]
    return sum((amount * ionised_equivalents(acid, 5.5) for acid, amount in amounts), 0.0)


@method
def wort_slope(
    malts: Sequence[MaltAcidity],
    mash_liquor: Number,
    alkalinity: Number,
    calcium: Number,
    magnesium: Number,
    liquor_ph: Number = 7.6,
    acid_equivalents: Mapping[str, Number] = MappingProxyType({}),
    bicarbonate_mmol: Number = 0.0,
    lime_mmol: Number = 0.0,
    acidulated_mmol: Number = 0.0,
) -> Number:
    """Mash pH by the slope on residual alkalinity that was measured on wort.

    It was measured on cast-out wort of 12 degP; for a mash the slope is an upper bound, as small
    mashes with waters of known alkalinity have shown.

    Formula:
        pH = grist pH + 0.0841 RA;  RA = Alk - Ca/3.5 - Mg/7 + (bases - acids)/V
    Inputs:
        malts: list of MaltAcidity; mass kg, pH in distilled water, mEq per kg and pH
        mash_liquor: L, 0 to 10000; mash liquor
        alkalinity: mEq/L, -20 to 30 (trusted -2 to 6)
        calcium: mg/L, 0 to 2000 (trusted 0 to 200)
        magnesium: mg/L, 0 to 1000 (trusted 0 to 60)
        liquor_ph: pH, 4.5 to 11; not used
        acid_equivalents: mmol by acid; keys of ACIDS
        bicarbonate_mmol: mmol, 0 to 1000000
        lime_mmol: mmol, -1000000 to 1000000
        acidulated_mmol: mmol, 0 to 1000000
    Result: pH at room temperature
    Uncertainty: U = 0.2 pH, with the malts counted in
    Source: P. Kolbach 1953, Monatsschrift fuer Brauerei 6(5):49-52; for mashes R. Barth and R.
        Zaman 2015, J. Am. Soc. Brew. Chem., 2015-0621-01 (abstract)
    """
    buffering = sum((m.mass * m.buffering for m in malts), 0.0)
    grist = sum((m.mass * m.buffering * m.distilled_water_mash_ph for m in malts), 0.0) / buffering
    left = residual_alkalinity(alkalinity, calcium, magnesium)
    if nominal(mash_liquor) > 0.0:
        dosed = bicarbonate_mmol + 2.0 * lime_mmol - _taken(acid_equivalents, acidulated_mmol)
        left = left + dosed / mash_liquor
    return grist + WORT_SLOPE * left


MODELS: Mapping[str, Callable[..., Number]] = MappingProxyType(
    {"charge_balance": charge_balance, "wort_slope": wort_slope}
)
DEFAULT = "charge_balance"
"""It conserves charge, so that acids, bases and malts add up in any mixture and any thickness, and
each of its parameters can be measured. The slope on residual alkalinity was measured on cast-out
wort of moderate alkalinity; small mashes have shown that it must be changed for them."""


@method
def acid_for_mash(
    target_ph: Number,
    acid: str,
    malts: Sequence[MaltAcidity],
    mash_liquor: Number,
    alkalinity: Number,
    calcium: Number,
    magnesium: Number,
    liquor_ph: Number = 7.6,
    acid_equivalents: Mapping[str, Number] = MappingProxyType({}),
    bicarbonate_mmol: Number = 0.0,
    lime_mmol: Number = 0.0,
    acidulated_mmol: Number = 0.0,
) -> Number:
    """Acid that brings a mash to a pH: the charge balance solved for the acid.

    Formula:
        n = surplus of base at the target/f(target)
    Inputs:
        target_ph: pH, 3.5 to 8 (trusted 4.7 to 6.2)
        acid: key of ACIDS
        malts: list of MaltAcidity; mass kg, pH in distilled water, mEq per kg and pH
        mash_liquor: L, 0 to 10000; mash liquor
        alkalinity: mEq/L, -20 to 30 (trusted -2 to 6)
        calcium: mg/L, 0 to 2000 (trusted 0 to 200)
        magnesium: mg/L, 0 to 1000 (trusted 0 to 60)
        liquor_ph: pH, 4.5 to 11 (trusted 6 to 9)
        acid_equivalents: mmol by acid; acids already counted on
        bicarbonate_mmol: mmol, 0 to 1000000
        lime_mmol: mmol, -1000000 to 1000000
        acidulated_mmol: mmol, 0 to 1000000
    Result: mmol of the acid; negative when the mash is below the target without it
    Uncertainty: as 0.1 pH of buffering (U), commonly 4 mEq per kg of grist
    Source: see charge_balance
    """
    mash = _gather(
        malts,
        mash_liquor,
        alkalinity,
        calcium,
        magnesium,
        liquor_ph,
        acid_equivalents,
        bicarbonate_mmol,
        lime_mmol,
        acidulated_mmol,
    )
    return _surplus(mash, target_ph) / ionised_equivalents(acid, target_ph)


BASE_MALTS = ("pale", "pilsner", "wheat", "munich", "acidulated", "adjunct")
"""Classes whose pH differs little from one malt to the next."""


class AcidityUncertainty(Struct, frozen=True):
    """±U (k = 2): ``ph`` of a malt in distilled water, ``buffering`` and the rest as shares."""

    ph: float
    buffering: float
    hardness: float
    carbonate: float


@method
def acidity_uncertainty(malt_class: str, is_measured: bool = False) -> AcidityUncertainty:
    """What is not known of a malt's acidity and of what the liquor does to it.

    Hand the numbers into a model as uncertain: the pH of each malt a variable of its own, the
    buffering one for all of them (what is published differs by the way of measuring), hardness and
    carbonate one each. What earlier mashes of the same malt showed takes the first off.

    Formula:
        pH: 0.15 for base malts, 0.30 for others, 0.06 when it was measured; buffering 40 %;
        hardness 30 % of what calcium and magnesium do; carbonate 20 %
    Inputs:
        malt_class: key of MALT_CLASSES
        is_measured: whether the pH of this malt in distilled water was measured
    Result: AcidityUncertainty, k = 2
    Uncertainty: a judgement, good to a third of itself
    Source: Congress worts of pale malts have pH 5.6 to 6.0, and it moves with variety and year (a
        maltster's specification; MEBAK gives 5.6 to 5.9): half of that range is 0.20, and 0.15 is
        taken once the class is known; K. Troester 2009, The effect of brewing water and grist
        composition on the pH of the mash, for the spread of specialty malts; buffering 22 to 64
        mEq/(kg pH), see MALT_CLASSES; calcium by the pilot mashes of D.G. Taylor 1990, MBAA Tech.
        Q. 27:131, whose first 100 mg/L did twice what the divisor 3.5 gives; carbon dioxide that
        escapes while the mash is stirred, a judgement
    """
    ph = 0.15 if malt_class in BASE_MALTS else 0.30
    return AcidityUncertainty(0.06 if is_measured else ph, 0.40, 0.30, 0.20)


@method
def room_temperature_ph(ph: Number, sample_temperature: Number) -> Number:
    """Wort pH at room temperature, from a reading of a hot sample.

    A meter with temperature compensation still reads the lower pH that hot wort really has.

    Formula:
        pH_20 = pH + 0.35 (T - 20)/45
    Inputs:
        ph: pH, 3 to 9; as read
        sample_temperature: degC, 0 to 100 (trusted 15 to 80)
    Result: pH at 20 degC
    Uncertainty: U = 0.1 pH, at 65 degC
    Source: D.E. Briggs et al. 2004, Brewing: Science and Practice, ch. 4: 0.35 at 65 degC and 0.45
        at 78 degC
    """
    return ph + 0.35 * (sample_temperature - 20.0) / 45.0
