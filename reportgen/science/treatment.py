"""Liquor treatment: which salts and how much acid bring a liquor nearest to what is wanted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import fsum, inf, sqrt
from types import MappingProxyType

from msgspec import Struct

from reportgen.science.acid import (
    ACIDS,
    acid_anion_increase,
    acid_normality,
    ionised_equivalents,
)
from reportgen.science.least_squares import least_squares
from reportgen.science.mash_ph import MaltAcidity, acid_for_mash, charge_balance
from reportgen.science.method import method
from reportgen.science.number import Number, nominal
from reportgen.science.salts import SALTS, ion_increase
from reportgen.science.water import Ions, add, alkalinity, mix

USUAL_SALTS = (
    "gypsum",
    "calcium_chloride_dihydrate",
    "epsom_salt",
    "table_salt",
    "baking_soda",
)
"""Salts a small brewery commonly keeps."""

_ALKALINE = ("alkalinity", "bicarbonate", "carbonate")
_TABLED_ANIONS = ("chloride", "sulfate")
_TOLERANCE_SHARE = 0.10
_TOLERANCE_FLOOR = 5.0
_TOLERANCE_ALKALINITY = 0.2
_TOLERANCE_UNASKED = 100.0
_TOLERANCE_UNASKED_ALKALINITY = 1.0
_TOLERANCE_PH = 0.05
_RIDGE = 1e-3
_LARGEST_SET = 4


class TreatedLiquor(Struct, frozen=True):
    """Ions, mg/L, of mash liquor, sparge liquor and both together after treatment.

    Each has ``alkalinity`` in mEq/L beside the ions; negative where acid is in excess of it.
    """

    mash: Mapping[str, Number]
    sparge: Mapping[str, Number]
    total: Mapping[str, Number]


class Miss(Struct, frozen=True):
    """An ion, ``alkalinity`` or ``mash_ph`` that stays off what is wanted.

    ``cause``: ``liquor_above`` (the liquor already holds more, and no salt takes it away),
    ``no_salt`` (nothing at hand brings it), ``solubility`` (the salt that brings it is at its
    limit), ``scale`` (less than the scale can weigh is missing), ``compromise`` (what brings it
    brings something else too).
    """

    what: str
    wanted: float
    reached: float
    cause: str


ACID_STEP = 0.1
"""Smallest step of a measure for acid, mL (common practice)."""


class Treatment(Struct, frozen=True):
    """A set of salts and acid for a liquor, and what it gives.

    Doses are g of salt by key; acids are mL of the bottled acid and mmol. ``mash_ph`` is None
    unless a target was given. ``differences`` are reached less wanted, in the unit of each;
    ``misses`` are those beyond the tolerance of 10 % or 5 mg/L (0.2 mEq/L, 0.05 pH).
    """

    mash_doses: Mapping[str, float]
    sparge_doses: Mapping[str, float]
    mash_acid_millilitres: float
    mash_acid_mmol: float
    ions: TreatedLiquor
    mash_ph: float | None
    differences: Mapping[str, float]
    misses: tuple[Miss, ...]

    @property
    def doses(self) -> dict[str, float]:
        """Return g of each salt, mash and sparge liquor together."""
        keys = dict.fromkeys([*self.mash_doses, *self.sparge_doses])
        return {k: self.mash_doses.get(k, 0.0) + self.sparge_doses.get(k, 0.0) for k in keys}


@method
def treated_liquor(
    liquor: Ions,
    mash_liquor: Number,
    sparge_liquor: Number,
    mash_doses: Mapping[str, Number] = MappingProxyType({}),
    sparge_doses: Mapping[str, Number] = MappingProxyType({}),
    assays: Mapping[str, Number] = MappingProxyType({}),
    mash_acids: Mapping[str, Number] = MappingProxyType({}),
    sparge_acids: Mapping[str, Number] = MappingProxyType({}),
    ph: Number = 5.5,
) -> TreatedLiquor:
    """Ions of mash and sparge liquor after salts and acid have been put into each.

    Salt put only into the mash liquor is thinned by an untreated sparge: ``total`` is the mean of
    the two by volume, what the kettle would hold if the grains kept back as much of one as of the
    other.

    Formula:
        mash = c_0 + D_mash/V_mash; sparge = c_0 + D_sparge/V_sparge;
        total = (V_mash mash + V_sparge sparge)/(V_mash + V_sparge)
    Inputs:
        liquor: mg/L by ion; before treatment
        mash_liquor: L, 0.01 to 10000
        sparge_liquor: L, 0 to 10000
        mash_doses: g by salt; keys of SALTS
        sparge_doses: g by salt; keys of SALTS
        assays: fraction by salt; 1 where not given
        mash_acids: mmol by acid; keys of ACIDS
        sparge_acids: mmol by acid; keys of ACIDS
        ph: pH, 3 to 9; at which the acids give up their hydrogen ions
    Result: TreatedLiquor
    Uncertainty: as the weights and volumes; salts are counted as wholly dissolved
    Source: mass balance
    """
    mash = _dosed(liquor, mash_liquor, mash_doses, assays, mash_acids, ph)
    if nominal(sparge_liquor) <= 0.0:
        return TreatedLiquor(mash, {}, mash)
    sparge = _dosed(liquor, sparge_liquor, sparge_doses, assays, sparge_acids, ph)
    return TreatedLiquor(mash, sparge, mix([(mash_liquor, mash), (sparge_liquor, sparge)]))


def _dosed(
    liquor: Ions,
    volume: Number,
    doses: Mapping[str, Number],
    assays: Mapping[str, Number],
    acids: Mapping[str, Number],
    ph: Number,
) -> dict[str, Number]:
    """Return one liquor with its salts and acids in."""
    ions = add(liquor, {"alkalinity": 0.0})
    for salt, grams in doses.items():
        ions = add(ions, ion_increase(salt, grams, volume, assays.get(salt, 1.0)))
    for acid, amount in acids.items():
        ions = add(ions, _acid_increase(acid, amount, volume, ph))
    return ions


def _acid_increase(acid: str, mmol: Number, volume: Number, ph: Number) -> dict[str, Number]:
    """Return what an acid does to the ion table: alkalinity gone, chloride or sulfate come."""
    equivalents = mmol * ionised_equivalents(acid, ph)
    increase: dict[str, Number] = {"alkalinity": -1.0 * equivalents / volume}
    if ACIDS[acid].anion in _TABLED_ANIONS:
        increase[ACIDS[acid].anion] = acid_anion_increase(acid, equivalents, ph, volume)
    return increase


def _mash_bases(doses: Mapping[str, Number], assays: Mapping[str, Number]) -> tuple[Number, Number]:
    """Return mmol of bicarbonate and of lime that salts in the mash stand for.

    Chalk, as if dissolved, acts as one bicarbonate and half a lime; metabisulfite as minus one
    lime.
    """
    bicarbonate: Number = 0.0
    lime: Number = 0.0
    for salt, grams in doses.items():
        mmol = 1000.0 * grams * assays.get(salt, 1.0) / SALTS[salt].molar_mass
        if salt in ("baking_soda", "chalk"):
            bicarbonate = bicarbonate + mmol
        if salt == "chalk":
            lime = lime + 0.5 * mmol
        elif salt == "slaked_lime":
            lime = lime + mmol
        elif SALTS[salt].alkalinity < 0.0:
            lime = lime - mmol
    return bicarbonate, lime


class _Problem(Struct, frozen=True):
    """What is fixed while sets of salts are tried."""

    liquor: Mapping[str, float]
    mash_liquor: float
    sparge_liquor: float
    wanted: Mapping[str, float]
    where: str
    scale: float
    acid: str | None
    target_ph: float | None
    malts: Sequence[MaltAcidity]
    liquor_ph: float
    working_ph: float

    @property
    def dosed_volume(self) -> float:
        """Return the litres that the salts go into."""
        both = self.where == "both"
        return self.mash_liquor + (self.sparge_liquor if both else 0.0)

    def split(self, doses: Mapping[str, float]) -> tuple[dict[str, float], dict[str, float]]:
        """Share doses between mash and sparge liquor, each rounded to the scale."""
        kept = {salt: grams for salt, grams in doses.items() if grams > 0.0}
        if self.where == "mash" or self.sparge_liquor <= 0.0:
            return kept, {}
        share = self.mash_liquor / self.dosed_volume
        mash = {salt: _rounded(grams * share, self.scale) for salt, grams in kept.items()}
        sparge = {salt: _rounded(grams - mash[salt], self.scale) for salt, grams in kept.items()}
        return (
            {salt: grams for salt, grams in mash.items() if grams > 0.0},
            {salt: grams for salt, grams in sparge.items() if grams > 0.0},
        )

    def outcome(self, doses: Mapping[str, float], acid_mmol: float) -> TreatedLiquor:
        """Return the ions that doses and acid give."""
        mash, sparge = self.split(doses)
        acids = {self.acid: acid_mmol} if self.acid and acid_mmol else {}
        return treated_liquor(
            self.liquor,
            self.mash_liquor,
            self.sparge_liquor,
            mash,
            sparge,
            {},
            acids,
            {},
            self.working_ph,
        )

    def mash_acid(
        self, acid: str, doses: Mapping[str, float], acids: Mapping[str, float]
    ) -> float:
        """Return mmol of an acid for the mash pH with doses and acids in; negative if too much."""
        assert self.target_ph is not None
        calcium, magnesium, bicarbonate, lime = self._salted(doses)
        return float(
            acid_for_mash(
                self.target_ph, acid, self.malts, self.mash_liquor, alkalinity(self.liquor),
                calcium, magnesium, self.liquor_ph, acids, bicarbonate, lime,
            )
        )  # fmt: skip

    def mash_ph(self, doses: Mapping[str, float], acid_mmol: float) -> float | None:
        """Return the mash pH with salts and acid in, None without a target."""
        if self.target_ph is None:
            return None
        mash, _ = self.split(doses)
        calcium, magnesium, bicarbonate, lime = self._salted(mash)
        acids = {self.acid: acid_mmol} if self.acid else {}
        return float(
            charge_balance(
                self.malts, self.mash_liquor, alkalinity(self.liquor), calcium, magnesium,
                self.liquor_ph, acids, bicarbonate, lime,
            )
        )  # fmt: skip

    def _salted(self, doses: Mapping[str, float]) -> tuple[Number, Number, Number, Number]:
        """Return calcium and magnesium, mg/L, bicarbonate and lime, mmol, of a salted mash."""
        ions = treated_liquor(self.liquor, self.mash_liquor, 0.0, doses).mash
        return ions.get("calcium", 0.0), ions.get("magnesium", 0.0), *_mash_bases(doses, {})


def _rounded(value: float, step: float) -> float:
    """Round to the step of a scale, without a tail of binary digits."""
    return round(round(value / step) * step, 9)


def _tolerance(what: str, wanted: float) -> float:
    """Return the difference that does not matter."""
    if what == "alkalinity":
        return max(_TOLERANCE_ALKALINITY, _TOLERANCE_SHARE * abs(wanted))
    if what == "mash_ph":
        return _TOLERANCE_PH
    return max(_TOLERANCE_FLOOR, _TOLERANCE_SHARE * wanted)


def _differences(problem: _Problem, ions: TreatedLiquor, ph: float | None) -> dict[str, float]:
    """Return reached less wanted for all that was asked for."""
    differences = {
        what: nominal(ions.mash.get(what, 0.0)) - value for what, value in problem.wanted.items()
    }
    if ph is not None and problem.target_ph is not None:
        differences["mash_ph"] = ph - problem.target_ph
    return differences


def _score(
    problem: _Problem, doses: Mapping[str, float], ions: TreatedLiquor, ph: float | None
) -> float:
    """Return the sum of squares of the differences in tolerances, with a light hold on the rest."""
    total = 0.0
    for what, difference in _differences(problem, ions, ph).items():
        total += (difference / _tolerance(what, problem.wanted.get(what, 0.0))) ** 2
    for what, value in ions.mash.items():
        if what not in problem.wanted and what not in _ALKALINE:
            total += ((value - problem.liquor.get(what, 0.0)) / _TOLERANCE_UNASKED) ** 2
    return total + _unasked_alkalinity(problem, doses) ** 2


def _unasked_alkalinity(problem: _Problem, doses: Mapping[str, float]) -> float:
    """Return, in tolerances, the alkalinity that salts bring though none was asked for."""
    if "alkalinity" in problem.wanted:
        return 0.0
    brought = sum(
        grams * SALTS[salt].alkalinity
        for salt, grams in doses.items()
    )
    return brought / problem.dosed_volume / _TOLERANCE_UNASKED_ALKALINITY


def _rows(problem: _Problem) -> list[str]:
    """Return the names of the equations: each ion, and the mash pH if there is a target."""
    ions = dict.fromkeys(
        [*problem.wanted, "calcium", "magnesium", "sodium", "potassium", "chloride", "sulfate"]
    )
    return [*ions, *(["mash_ph"] if problem.target_ph is not None else [])]


def _vector(problem: _Problem, doses: Mapping[str, float], acid_mmol: float) -> list[float]:
    """Return all differences in tolerances, linear in the doses and the acid."""
    mash_share = {
        salt: grams * problem.mash_liquor / problem.dosed_volume for salt, grams in doses.items()
    }
    sparge_share = {salt: grams - mash_share[salt] for salt, grams in doses.items()}
    ions = treated_liquor(
        problem.liquor,
        problem.mash_liquor,
        problem.sparge_liquor,
        mash_share,
        sparge_share if problem.where == "both" else {},
        {},
        {problem.acid: acid_mmol} if problem.acid else {},
        {},
        problem.working_ph,
    )
    vector = []
    for what in _rows(problem):
        if what == "mash_ph":
            assert problem.target_ph is not None
            acid = problem.acid or "lactic"
            acids = {acid: acid_mmol} if problem.acid else {}
            surplus = problem.mash_acid(acid, mash_share, acids)
            surplus *= ionised_equivalents(acid, problem.target_ph)
            slope = sum(m.mass * m.buffering for m in problem.malts)
            vector.append(float(surplus / slope / _TOLERANCE_PH))
        elif what in problem.wanted:
            wanted = problem.wanted[what]
            vector.append(float((ions.mash.get(what, 0.0) - wanted) / _tolerance(what, wanted)))
        else:
            start = problem.liquor.get(what, 0.0)
            vector.append(float((ions.mash.get(what, 0.0) - start) / _TOLERANCE_UNASKED))
    vector.append(_unasked_alkalinity(problem, doses))
    return vector


def _limits(problem: _Problem, salts: Sequence[str]) -> dict[str, float]:
    """Return the most of each salt, g, that the dosed liquor dissolves."""
    return {
        salt: (SALTS[salt].solubility or 100.0) * problem.dosed_volume
        for salt in salts
    }


def _search(
    problem: _Problem, salts: Sequence[str], most: int
) -> tuple[dict[str, float], float, float]:
    """Return the doses and acid of the smallest set that comes about as near as any."""
    base = _vector(problem, {}, 0.0)

    def column(doses: Mapping[str, float], acid: float) -> list[float]:
        moved = _vector(problem, doses, acid)
        return [b - a for a, b in zip(base, moved, strict=True)]

    columns = {salt: column({salt: 1.0}, 0.0) for salt in salts}
    acid_column = None
    if problem.acid:
        acid_column = column({}, 1.0)
    limits = _limits(problem, salts)
    best_of_size: list[tuple[float, dict[str, float], float]] = []
    for size in range(min(most, len(salts)) + 1):
        best: tuple[float, dict[str, float], float] | None = None
        for chosen in combinations(salts, size):
            used = [columns[salt] for salt in chosen]
            high = [limits[salt] for salt in chosen]
            if acid_column is not None:
                used.append(acid_column)
                high.append(1e9)
            fit = _nearest(base, used, high)
            doses = dict(zip(chosen, fit, strict=False))
            acid = fit[-1] if acid_column is not None else 0.0
            candidate = _refined(problem, doses, acid, limits)
            if best is None or candidate[0] < best[0]:
                best = candidate
        assert best is not None
        best_of_size.append(best)
    least = min(score for score, _, _ in best_of_size)
    # A further salt must earn its place on the scale: a tenth of a squared tolerance, or a tenth.
    score, doses, acid = next(best for best in best_of_size if best[0] <= 1.1 * least + 0.1)
    return doses, acid, score


def _nearest(
    base: Sequence[float], columns: Sequence[Sequence[float]], high: Sequence[float]
) -> tuple[float, ...]:
    """Return how much of each column brings the base nearest to nothing, from 0 to ``high``.

    A ridge keeps columns that do the same from being played off against each other.
    """
    if not columns:
        return ()
    sizes = [sqrt(fsum(v * v for v in column)) or 1.0 for column in columns]
    ridge = [
        [_RIDGE * size * float(i == k) for k in range(len(columns))] for i, size in enumerate(sizes)
    ]
    matrix = [*(list(row) for row in zip(*columns, strict=True)), *ridge]
    wanted = [*base, *(0.0 for _ in columns)]

    def residuals(x: Sequence[float]) -> list[float]:
        return [
            b + fsum(a * v for a, v in zip(row, x, strict=True))
            for b, row in zip(wanted, matrix, strict=True)
        ]

    return least_squares(
        residuals, lambda x: matrix, [0.0] * len(columns), [0.0] * len(columns), high,
        [1.0 / size for size in sizes], smallest=1e-10,
    ).found  # fmt: skip


def _acid_with(problem: _Problem, doses: Mapping[str, float], acid: float) -> float:
    """Return the acid that the mash pH needs with these doses, or the fitted one."""
    if problem.acid and problem.target_ph is not None:
        return max(0.0, problem.mash_acid(problem.acid, problem.split(doses)[0], {}))
    return acid


def _refined(
    problem: _Problem, doses: Mapping[str, float], acid: float, limits: Mapping[str, float]
) -> tuple[float, dict[str, float], float]:
    """Round doses to the scale and try one step up and down on each until nothing improves."""
    step = problem.scale

    def judged(trial: dict[str, float]) -> tuple[float, dict[str, float], float]:
        mmol = _acid_with(problem, trial, acid)
        # Acid and alkali in one mash only make lactate or gypsum by a detour.
        if mmol > 0.0 and any(g > 0.0 and SALTS[s].alkalinity > 0.0 for s, g in trial.items()):
            return inf, trial, mmol
        ions = problem.outcome(trial, mmol)
        return _score(problem, trial, ions, problem.mash_ph(trial, mmol)), trial, mmol

    best = judged({salt: _rounded(grams, step) for salt, grams in doses.items()})
    for _ in range(20):
        better = best
        for salt in doses:
            for change in (-step, step):
                moved = dict(best[1])
                moved[salt] = _rounded(moved[salt] + change, step)
                if not 0.0 <= moved[salt] <= limits[salt]:
                    continue
                trial = judged(moved)
                if trial[0] < better[0] - 1e-12:
                    better = trial
        if better is best:
            return best
        best = better
    return best


def _cause(
    problem: _Problem,
    what: str,
    difference: float,
    doses: Mapping[str, float],
    salts: Sequence[str],
) -> str:
    """Return why something stays off."""
    if what == "mash_ph":
        return "compromise" if problem.acid or difference < 0.0 else "no_salt"
    start = alkalinity(problem.liquor) if what == "alkalinity" else problem.liquor.get(what, 0.0)
    wanted = problem.wanted[what]
    if difference > 0.0:
        return "liquor_above" if start > wanted else "compromise"
    bringers = [
        salt
        for salt in salts
        if (SALTS[salt].alkalinity if what == "alkalinity" else SALTS[salt].ions.get(what, 0.0)) > 0
    ]
    if not bringers:
        return "no_salt"
    limits = _limits(problem, bringers)
    if any(doses.get(salt, 0.0) > limits[salt] - 1.5 * problem.scale for salt in bringers):
        return "solubility"
    step = problem.scale / problem.dosed_volume
    reach = max(
        step * (SALTS[salt].alkalinity if what == "alkalinity" else SALTS[salt].ions[what])
        for salt in bringers
    )
    return "scale" if -difference < reach else "compromise"


@method
def treat(
    liquor: Ions,
    mash_liquor: Number,
    sparge_liquor: Number,
    wanted: Ions,
    salts: Sequence[str] = USUAL_SALTS,
    where: str = "both",
    scale: Number = 0.1,
    most_salts: int = _LARGEST_SET,
    acid: str | None = None,
    acid_fraction: Number = 0.88,
    target_ph: Number | None = None,
    malts: Sequence[MaltAcidity] = (),
    liquor_ph: Number = 7.6,
) -> Treatment:
    """Fewest salts, and the acid, that bring a liquor about as near to a wish as can be.

    Differences count in tolerances: 10 % of what is wanted, at least 5 mg/L; 0.2 mEq/L of
    alkalinity; 0.05 of mash pH. Ions that are not asked for may move, lightly held. Every set of
    up to most_salts salts is fitted by bounded least squares, rounded to the scale and stepped to
    the best neighbour; the smallest set within a tenth of the best is taken. With a target pH the
    acid is what the charge balance of the mash asks for, and alkalinity in the wish is not used.

    Formula:
        least sum over ions ((c_0 + A x - wanted)/tolerance)^2, 0 <= x <= solubility
    Inputs:
        liquor: mg/L by ion; before treatment
        mash_liquor: L, 0.01 to 10000
        sparge_liquor: L, 0 to 10000
        wanted: mg/L by ion; alkalinity in mEq/L or bicarbonate in mg/L
        salts: list of keys of SALTS
        where: mash or both; which liquors may be salted
        scale: g, 0.001 to 100; smallest step of the scale
        most_salts: count, 0 to 8
        acid: key of ACIDS or None
        acid_fraction: fraction, 0.001 to 1; strength of the bottled acid by mass
        target_ph: pH, 4.5 to 6.5; of the cooled mash
        malts: list of MaltAcidity; needed with target_ph
        liquor_ph: pH, 4.5 to 11
    Result: Treatment
    Uncertainty: as the analysis of the liquor and the assay of the salts; mash pH as charge_balance
    Source: mass balance; bounded least squares, C.L. Lawson and R.J. Hanson 1974, Solving Least
        Squares Problems, ch. 23
    """
    if where not in ("mash", "both"):
        raise ValueError("where is mash or both")
    if target_ph is not None and not malts:
        raise ValueError("a target pH needs the malts of the mash")
    plain = {ion: nominal(value) for ion, value in add(liquor, {"alkalinity": 0.0}).items()}
    wish = {ion: nominal(value) for ion, value in wanted.items() if ion not in _ALKALINE}
    if target_ph is None and set(_ALKALINE) & set(wanted):
        wish["alkalinity"] = nominal(alkalinity(wanted))
    bottle = nominal(acid_normality(acid, acid_fraction)) if acid else 1.0
    problem = _Problem(
        plain,
        nominal(mash_liquor),
        nominal(sparge_liquor),
        wish,
        where,
        nominal(scale),
        acid,
        None if target_ph is None else nominal(target_ph),
        tuple(
            MaltAcidity(nominal(m.mass), nominal(m.distilled_water_mash_ph), nominal(m.buffering))
            for m in malts
        ),
        nominal(liquor_ph),
        5.5 if target_ph is None else nominal(target_ph),
    )
    doses, mmol, _ = _search(problem, tuple(salts), most_salts)
    millilitres = _rounded(mmol / bottle, ACID_STEP) if acid else 0.0
    mmol = millilitres * bottle
    ions = problem.outcome(doses, mmol)
    ph = problem.mash_ph(doses, mmol)
    differences = _differences(problem, ions, ph)
    mash, sparge = problem.split(doses)
    misses = _misses(problem, ions, ph, differences, doses, salts)
    return Treatment(mash, sparge, millilitres, mmol, ions, ph, differences, misses)


def _misses(
    problem: _Problem,
    ions: TreatedLiquor,
    ph: float | None,
    differences: Mapping[str, float],
    doses: Mapping[str, float],
    salts: Sequence[str],
) -> tuple[Miss, ...]:
    """Return what is not reached within its tolerance, each with why."""
    misses = []
    for what, difference in differences.items():
        asked = problem.target_ph if what == "mash_ph" else problem.wanted[what]
        assert asked is not None
        if abs(difference) > _tolerance(what, asked):
            got = ph if what == "mash_ph" else nominal(ions.mash.get(what, 0.0))
            assert got is not None
            misses.append(Miss(what, asked, got, _cause(problem, what, difference, doses, salts)))
    return tuple(misses)
