"""What the enzymes make of the starch while the mash's temperature goes its way.

A small kinetic model of the form of C. Brandam and others 2003: starch gelatinises, is liquefied
by alpha-amylase, and the dextrins become sugars by both amylases, which the heat destroys
meanwhile. All amounts are shares, so the size and, within its range, the thickness of the mash
make no difference. Where the enzymes are lost, the rates fall; nothing else ends a mash.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence

from msgspec import Struct

from reportgen.science.carbonation import REAL_OF_APPARENT
from reportgen.science.method import OutOfRange, method
from reportgen.science.number import Number, flat, nominal, standard_uncertainty

Profile = Sequence[tuple[Number, Number]]
"""Points of (min, degC), straight lines between them; two at one time are a step."""

Boiled = Sequence[tuple[Number, Number]]
"""Decoctions: (min at which each returns, share of the mash that was boiled)."""

REFERENCE_REST = ((0.0, 66.0), (60.0, 66.0))
"""The mash for which the attenuation of a yeast is stated."""

COLDEST, HOTTEST = 0.0, 105.0
"""A mash can be no colder and no hotter, degC."""

_KELVIN = 273.15
_GAS = 8.314  # J/(mol K)
_AT = 65.0 + _KELVIN

# Loss of the enzymes, Brandam and others 2003, from memory: 6.9e30 per s and 224.2 kJ/mol for
# alpha-amylase, 7.6e60 per s and 410.7 kJ/mol for beta-amylase; here per min at 65 degC, which asks
# no such powers of ten. In a thick mash (2.5 L/kg) R. Muller 1990 found beta-amylase to last as
# long at 65 degC as these constants have it last at 63.
_ALPHA_LOSS, _ALPHA_LOSS_ENERGY = 0.00962, 224.2e3
_BETA_LOSS, _BETA_LOSS_ENERGY = 0.1641, 410.7e3

# Gelatinisation, Brandam and others 2003, from memory: 5.7e31 per s and 220.6 kJ/mol below 60 degC,
# 3.1e14 per s and 108.3 kJ/mol from there on, per min here. The two do not meet; so that a tenth of
# a degree makes no leap, their logarithms are joined by a straight line from 59 to 61 degC.
_JOINT, _JOINT_HALF = 60.0, 1.0
_COOL, _COOL_ENERGY = 60.0 * 5.7e31, 220.6e3
_WARM, _WARM_ENERGY = 60.0 * 3.1e14, 108.3e3

# Activity with temperature: beta-amylase by the slope of the activity that Brandam and others
# 2003 measured below 63 degC, alpha-amylase as amylases on starch in general.
_ALPHA_ENERGY, _BETA_ENERGY = 45e3, 17e3
# Their straight line of beta-amylase below 63 degC, 0.04756 T - 13.403 with T in K as refitted in
# print from their figure, rises at 63 degC as 17.3 kJ/mol do.

# Liquefaction, per min at 65 degC: so fast that gelatinisation is what takes time (Brandam and
# others take it as immediate). It matters only where alpha-amylase is dying.
_LIQUEFACTION = 3.0

# Least squares through the attenuation limits of J. Chandrasekhar (reported 2014: 82, 70, 50, 30 %
# after an hour at 65, 70, 75, 80 degC; nine tenths lager malt, one tenth dextrin malt, 3 L/kg of
# distilled water with gypsum, lager yeast) with the optimum at 62.5 degC of D.M. Hamilton and M.J.
# Lewis 1974: sugars by beta- and by alpha-amylase, per min at 65 degC, and the share of starch
# that can become fermentable.
_BETA_SUGARS, _ALPHA_SUGARS, _FERMENTABLE = 0.5576, 0.0500, 0.7375

# Of all the extract of a pale malt; D.E. Briggs and others 2004, Brewing: Science and Practice.
_STARCH, _READY_SUGARS = 0.79, 0.10

_STEP = 0.5  # min
_STEP_KELVIN = 0.5
_STEPS = 300


class MashState(Struct, frozen=True):
    """A mash at one time: ``time`` min, ``temperature`` degC, all else shares.

    ``starch`` is the share of the starch not yet converted, ``extract`` the share of all extract
    that has dissolved, ``sugars`` and ``dextrins`` parts of that same whole. ``attenuation`` is
    the limit (apparent) of the wort there is now. ``alpha`` and ``beta`` are the amylases left.
    """

    time: Number
    temperature: Number
    starch: Number
    extract: Number
    sugars: Number
    dextrins: Number
    attenuation: Number
    alpha: Number
    beta: Number


class MashResult(Struct, frozen=True):
    """The end of a mash; see :class:`MashState`.

    ``conversion`` is the share of the starch converted, ``attenuation_share`` the limit of
    attenuation over that of an hour at 66 degC, ``formed_at`` the mean temperature (degC) at
    which the sugars were formed.
    """

    conversion: Number
    extract: Number
    sugars: Number
    dextrins: Number
    attenuation: Number
    attenuation_share: Number
    formed_at: Number


class MashChange(Struct, frozen=True):
    """What a mash did after one moment, as from the heating for mash-out on.

    ``unconverted`` is the share of the starch that was still to be converted at that moment,
    ``converted`` what of it was converted later; ``before`` and ``after`` are limits of
    attenuation, ``change`` their difference.
    """

    unconverted: Number
    converted: Number
    before: Number
    after: Number
    change: Number


class MashSpread(Struct, frozen=True):
    """Standard uncertainties (k = 1) of the causes that mash_result takes.

    ``activity`` relative to 1, ``heat_shift`` and ``starch_shift`` in K, ``model`` added to the
    attenuation.
    """

    activity: float
    heat_shift: float
    starch_shift: float
    model: float


def _arrhenius(level: float, energy: float, kelvin: float) -> float:
    """Return a rate per min from its level at 65 degC."""
    return level * math.exp(energy / _GAS * (1.0 / _AT - 1.0 / kelvin))


def _gelatinisation(celsius: float) -> float:
    """Return the rate of gelatinisation per min."""
    part = (celsius - _JOINT + _JOINT_HALF) / (2.0 * _JOINT_HALF)
    if part <= 0.0:
        return _COOL * math.exp(-_COOL_ENERGY / (_GAS * (celsius + _KELVIN)))
    if part >= 1.0:
        return _WARM * math.exp(-_WARM_ENERGY / (_GAS * (celsius + _KELVIN)))
    low, high = _gelatinisation(_JOINT - _JOINT_HALF), _gelatinisation(_JOINT + _JOINT_HALF)
    return low * math.pow(high / low, part)


class _MashState:
    """The state that the integration carries: shares of starch, and enzymes."""

    def __init__(self, activity: float, heat_shift: float, starch_shift: float) -> None:
        self.granules, self.paste, self.sugars = 1.0, 0.0, 0.0
        self.alpha = self.beta = activity
        self.heat_shift, self.starch_shift = heat_shift, starch_shift
        self.formed = self.heat = 0.0

    def step(self, celsius: float, minutes: float) -> None:
        """Go on for a time at one temperature; each equation is solved exactly, one by one."""
        kelvin = celsius + _KELVIN
        loss_a = _arrhenius(_ALPHA_LOSS, _ALPHA_LOSS_ENERGY, kelvin - self.heat_shift)
        loss_b = _arrhenius(_BETA_LOSS, _BETA_LOSS_ENERGY, kelvin - self.heat_shift)
        left_a, left_b = math.exp(-loss_a * minutes), math.exp(-loss_b * minutes)
        # Enzyme times time, of what is left and of what is lost on the way.
        worked_a = self.alpha * (1.0 - left_a) / loss_a
        worked_b = self.beta * (1.0 - left_b) / loss_b
        self.alpha *= left_a
        self.beta *= left_b
        opening = _gelatinisation(celsius - self.starch_shift)
        opened = self.granules * -math.expm1(-opening * minutes)
        fluid = math.exp(-_arrhenius(_LIQUEFACTION, _ALPHA_ENERGY, kelvin) * worked_a)
        before = 1.0 - self.granules - self.paste
        self.granules -= opened
        self.paste = self.paste * fluid + opened * math.sqrt(fluid)
        after = 1.0 - self.granules - self.paste
        power = _arrhenius(_BETA_SUGARS, _BETA_ENERGY, kelvin) * worked_b
        power += _arrhenius(_ALPHA_SUGARS, _ALPHA_ENERGY, kelvin) * worked_a
        to_come = max(0.0, _FERMENTABLE * before - self.sugars)
        new = _FERMENTABLE * max(0.0, after - before)
        made = to_come * -math.expm1(-power) + new * -math.expm1(-0.5 * power)
        self.sugars += made
        self.formed += made
        self.heat += made * celsius

    def boil(self, share: float) -> None:
        """Take back a part that was boiled: its enzymes are dead, its starch is open."""
        self.alpha *= 1.0 - share
        self.beta *= 1.0 - share
        self.granules *= 1.0 - share
        self.paste *= 1.0 - share

    def state(self, time: float, celsius: float) -> MashState:
        """Return what there is now, in words of the wort."""
        converted = max(0.0, 1.0 - self.granules - self.paste)
        extract = 1.0 - _STARCH + _STARCH * converted
        sugars = _READY_SUGARS + _STARCH * self.sugars
        return MashState(
            time, celsius, 1.0 - converted, extract, sugars,
            _STARCH * max(0.0, converted - self.sugars), sugars / extract / REAL_OF_APPARENT,
            self.alpha, self.beta,
        )  # fmt: skip


Points = Sequence[tuple[float, float]]


def _points(profile: Profile) -> list[tuple[float, float]]:
    """Return a profile of plain numbers.

    Raises ValueError when it has no length or goes back in time, OutOfRange for a temperature
    that no mash has.
    """
    points = [(nominal(time), nominal(celsius)) for time, celsius in profile]
    if len(points) < 2:
        raise ValueError("a mash profile needs two points or more")
    for time, celsius in points:
        if not math.isfinite(time):
            raise ValueError(f"a time of the mash profile is {time}")
        if not COLDEST <= celsius <= HOTTEST:
            name = "mash_kinetics.profile"
            raise OutOfRange(name, "temperature", celsius, COLDEST, HOTTEST, "degC")
    if any(late[0] < early[0] for early, late in zip(points, points[1:], strict=False)):
        raise ValueError("the mash profile goes back in time")
    return points


@functools.lru_cache(maxsize=2048)
def _run(points: Points, causes: Sequence[float], boiled: Points) -> tuple[list[MashState], float]:
    """Return the state at each point, and the mean temperature at which sugars were formed."""
    mash = _MashState(*causes)
    longest = max(_STEP, (points[-1][0] - points[0][0]) / _STEPS)
    waiting = sorted(boiled)
    states = [mash.state(*points[0])]
    for (start, cool), (end, warm) in zip(points, points[1:], strict=False):
        minutes = end - start
        count = math.ceil(max(minutes / longest, abs(warm - cool) / _STEP_KELVIN))
        for index in range(count if minutes > 0.0 else 0):
            part = (index + 0.5) / count
            mash.step(cool + (warm - cool) * part, minutes / count)
        while waiting and waiting[0][0] <= end:
            mash.boil(waiting.pop(0)[1])
        states.append(mash.state(end, warm))
    mean = mash.heat / mash.formed if mash.formed > 0.0 else points[-1][1]
    return states, mean


def _carried(
    function: Callable[[Sequence[float]], tuple[float, ...]],
    inputs: Sequence[Number],
    steps: Sequence[float],
) -> tuple[Number, ...]:
    """Return what a function gives, with the uncertainty of its inputs.

    Each input is moved up and down by sqrt(3) standard uncertainties, the nodes at which three
    points give the variance of a normal input (Gauss and Hermite): starch opens many times faster
    within the spread of the heat it needs, so a tangent would see a third of what that does. The
    slope is the root mean square of both, with the sign of the chord; by ``steps`` at least. An
    input met twice is moved as one.
    """
    plain = [nominal(value) for value in inputs]
    base = function(plain)
    results: list[Number] = list(base)
    done: list[Number] = []
    for value, least in zip(inputs, steps, strict=True):
        if isinstance(value, (float, int)) or any(value is other for other in done):
            continue
        done.append(value)
        step = max(least, math.sqrt(3.0) * standard_uncertainty(value))
        above, below = (
            function([p + move if v is value else p for p, v in zip(plain, inputs, strict=True)])
            for move in (step, -step)
        )
        for index, (up, down) in enumerate(zip(above, below, strict=True)):
            size = math.hypot(up - base[index], base[index] - down) / math.sqrt(2.0) / step
            slope = math.copysign(size, up - down)
            results[index] = results[index] + (value - nominal(value)) * slope
    return tuple(flat(result) for result in results)


def _with_causes(
    profile: Profile,
    causes: Sequence[Number],
    boiled: Boiled,
    summary: Callable[[list[MashState], float], tuple[float, ...]],
) -> tuple[Number, ...]:
    """Run a mash and return what ``summary`` takes of it, with uncertainties."""
    times = [time for time, _ in _points(profile)]
    returned = tuple((nominal(time), nominal(share)) for time, share in boiled)
    if any(not 0.0 <= share <= 1.0 for _, share in returned):
        raise ValueError("the share of a decoction must lie between 0 and 1")

    def run(values: Sequence[float]) -> tuple[float, ...]:
        points = tuple(zip(times, values[len(causes) :], strict=True))
        return summary(*_run(points, tuple(values[: len(causes)]), returned))

    temperatures = [celsius for _, celsius in profile]
    return _carried(run, [*causes, *temperatures], [0.02] * (len(causes) + len(temperatures)))


_PLAIN = (1.0, 0.0, 0.0)
"""Activity, heat shift and starch shift of the malt that is meant."""


def _reference() -> float:
    """Return the limit of attenuation of the reference mash."""
    return float(nominal(_run(REFERENCE_REST, _PLAIN, ())[0][-1].attenuation))


@method
def amylases_left(temperature: Number, minutes: Number) -> tuple[Number, Number]:
    """Share of the two amylases that a time at one temperature leaves.

    Formula:
        a = exp(-k t); k = k65 exp(E/R (1/338.15 - 1/T)); alpha 0.00962 per min and 224.2 kJ/mol,
        beta 0.1641 per min and 410.7 kJ/mol
    Inputs:
        temperature: degC, 0 to 105 (trusted 50 to 80); of the mash
        minutes: min, 0 to 10000
    Result: alpha-amylase and beta-amylase left, fractions
    Uncertainty: as the temperature by U = 2 K, between barleys and from thin to thick mashes: R.
        Muller 1990 (Brewing Research Foundation) found at 2.5 L/kg and 65 degC a half-life of 10
        min for beta-amylase, which this has at 63 degC
    Source: C. Brandam, X.M. Meyer, J. Proth, P. Strehaiano and H. Pingaud 2003, Biochem. Eng. J.
        13:43, doi 10.1016/S1369-703X(02)00100-6; its constants from memory
    """

    def left(values: Sequence[float]) -> tuple[float, ...]:
        kelvin = values[0] + _KELVIN
        alpha = _arrhenius(_ALPHA_LOSS, _ALPHA_LOSS_ENERGY, kelvin)
        beta = _arrhenius(_BETA_LOSS, _BETA_LOSS_ENERGY, kelvin)
        return math.exp(-alpha * values[1]), math.exp(-beta * values[1])

    alpha, beta = _carried(left, [temperature, minutes], [0.01, 0.01])
    return alpha, beta


@method
def starch_gelatinised(temperature: Number, minutes: Number) -> Number:
    """Share of the starch of malt that a time at one temperature opens to the enzymes.

    Formula:
        s = 1 - exp(-k t); k = 5.7e31 exp(-220600/(R T)) per s to 59 degC, 3.1e14
        exp(-108300/(R T)) from 61 degC on, a straight line of its logarithm between
    Inputs:
        temperature: degC, 0 to 105 (trusted 50 to 76); of the mash
        minutes: min, 0 to 10000
    Result: fraction
    Uncertainty: as the temperature by U = 2 K; starches of barleys and seasons begin at 57 to 64
        degC
    Source: C. Brandam and others 2003, Biochem. Eng. J. 13:43,
        doi 10.1016/S1369-703X(02)00100-6; its constants from memory
    """
    (share,) = _carried(
        lambda v: (-math.expm1(-_gelatinisation(v[0]) * v[1]),),
        [temperature, minutes],
        [0.01, 0.01],
    )
    return share


@method
def mash_course(
    profile: Profile,
    activity: Number = 1.0,
    heat_shift: Number = 0.0,
    starch_shift: Number = 0.0,
    boiled: Boiled = (),
) -> list[MashState]:
    """Starch, dextrins, sugars and enzymes at each point of a mash.

    For what there is between two points, put another point there.

    Formula:
        dG/dt = -kg G; dP/dt = kg G - kl a P; C = 1 - G - P; dF/dt = (kb b + ka a)(0.7375 C - F);
        da/dt = -la a; db/dt = -lb b; each rate by Arrhenius; extract 0.21 + 0.79 C, sugars
        0.10 + 0.79 F, attenuation sugars / extract / 0.8192
    Inputs:
        profile: pairs of min and degC; straight lines between, two at one time are a step
        activity: 1, 0 to 3 (trusted 0.6 to 1.4); amylases of the grist over those of pale malt
        heat_shift: K, -6 to 6 (trusted -2 to 2); how much more heat the enzymes stand
        starch_shift: K, -6 to 20 (trusted -3 to 4); how much hotter the starch gelatinises
        boiled: pairs of min and fraction; decoctions, when each returns and its share
    Result: list of MashState, plain numbers, one for each point
    Uncertainty: as that of mash_result
    Source: form of C. Brandam and others 2003, Biochem. Eng. J. 13:43,
        doi 10.1016/S1369-703X(02)00100-6, its losses of the enzymes from memory; three constants
        through the attenuation limits of J. Chandrasekhar, reported 2014, and the optimum of D.M.
        Hamilton and M.J. Lewis 1974, MBAA Tech. Q. 11(1):31
    """
    returned = [(nominal(time), nominal(share)) for time, share in boiled]
    causes = [nominal(cause) for cause in (activity, heat_shift, starch_shift)]
    return list(_run(tuple(_points(profile)), tuple(causes), tuple(returned))[0])


@method
def mash_result(
    profile: Profile,
    activity: Number = 1.0,
    heat_shift: Number = 0.0,
    starch_shift: Number = 0.0,
    model: Number = 0.0,
    boiled: Boiled = (),
) -> MashResult:
    """Conversion and limit of attenuation that a whole mash leads to.

    Every rest counts, the way to it, cooling, mash-out and a long stand. Temperatures, activity,
    shift and model may bear uncertainty: hand in one number for each cause, with the standard
    uncertainties of mash_spread. Neither pH (5.2 to 5.7 is meant) nor limit dextrinase nor
    unmalted starch is in it.

    Formula:
        that of mash_course at the end; the model's error is added to the attenuation
    Inputs:
        profile: pairs of min and degC; straight lines between, two at one time are a step
        activity: 1, 0 to 3 (trusted 0.6 to 1.4); amylases of the grist over those of pale malt
        heat_shift: K, -6 to 6 (trusted -2 to 2); how much more heat the enzymes stand
        starch_shift: K, -6 to 20 (trusted -3 to 4); how much hotter the starch gelatinises
        model: fraction, -0.5 to 0.5; added to the attenuation, 0 with its uncertainty
        boiled: pairs of min and fraction; decoctions, when each returns and its share
    Result: MashResult
    Uncertainty: by the spreads of mash_spread, handed in, U = 0.035 of the attenuation for an hour
        between 60 and 66 degC, 0.05 at 69, 0.08 at 72, 0.12 at 80 and at 52 degC
    Source: form of C. Brandam and others 2003, Biochem. Eng. J. 13:43,
        doi 10.1016/S1369-703X(02)00100-6, its losses of the enzymes from memory; three constants
        through the attenuation limits of J. Chandrasekhar, reported 2014, and the optimum of D.M.
        Hamilton and M.J. Lewis 1974, MBAA Tech. Q. 11(1):31
    """

    def summary(states: list[MashState], formed_at: float) -> tuple[float, ...]:
        end = states[-1]
        return (end.starch, end.extract, end.sugars, end.dextrins, end.attenuation, formed_at)

    starch, extract, sugars, dextrins, attenuation, formed_at = _with_causes(
        profile, (activity, heat_shift, starch_shift), boiled, summary
    )
    attenuation = attenuation + model
    share = attenuation / _reference()
    return MashResult(1.0 - starch, extract, sugars, dextrins, attenuation, share, formed_at)


@method
def mash_change(
    profile: Profile,
    start: float,
    activity: Number = 1.0,
    heat_shift: Number = 0.0,
    starch_shift: Number = 0.0,
    model: Number = 1.0,
    boiled: Boiled = (),
) -> MashChange:
    """What a mash still did from one moment on, as from the heating for mash-out.

    Both sides share their causes, so the difference is known better than either.

    Formula:
        that of mash_course, at the moment and at the end; the model is a factor of the difference
    Inputs:
        profile: pairs of min and degC; with a point at the moment
        start: min; one of the times of the profile
        activity: 1, 0 to 3 (trusted 0.6 to 1.4); amylases of the grist over those of pale malt
        heat_shift: K, -6 to 6 (trusted -2 to 2); how much more heat the enzymes stand
        starch_shift: K, -6 to 20 (trusted -3 to 4); how much hotter the starch gelatinises
        model: 1, 0 to 2; factor of the difference, 1 with its uncertainty
        boiled: pairs of min and fraction; decoctions, when each returns and its share
    Result: MashChange
    Uncertainty: as the constants, U = 30 % of the difference, to be handed in as model, besides
        that of the causes
    Source: as mash_course
    """
    times = [nominal(time) for time, _ in profile]
    if start not in times:
        raise ValueError(f"the mash profile has no point at {start:g} min")
    # Of two points at one time the first is before a step.
    index = times.index(start)

    def summary(states: list[MashState], _formed_at: float) -> tuple[float, ...]:
        then, end = states[index], states[-1]
        return then.starch, then.starch - end.starch, then.attenuation, end.attenuation

    causes = (activity, heat_shift, starch_shift)
    left, converted, before, after = _with_causes(profile, causes, boiled, summary)
    change = flat((after - before) * model)
    return MashChange(left, converted, before, flat(before + change), change)


_ACTIVITY_SPREAD, _HEAT_SPREAD, _STARCH_SPREAD, _MODEL_SPREAD = 0.1, 0.4, 1.0, 0.012


@method
def mash_spread(profile: Profile, liquor_to_grist: Number = 3.0) -> MashSpread:
    """Standard uncertainties of what a mash's forecast hangs on, wider outside what is trusted.

    Formula:
        u = 0.1 of the activity of the amylases, 0.4 K for the heat they stand, 1.0 K for the
        heat the starch needs; model 0.012 + 0.006 for each K that sugars are formed below 60, 0.004
        above 69 degC, 0.006 for each L/kg below 2 or above 4
    Inputs:
        profile: pairs of min and degC; straight lines between
        liquor_to_grist: L/kg, 0.8 to 20; the model widens where it is not 2 to 4
    Result: MashSpread, k = 1
    Uncertainty: a judgement, good to 30 %; malts of whose enzymes nothing is known are meant
    Source: a model of this kind missed the sugars of 14 mashings by -9.9 to +4.6 %, of malt that it
        was fitted to by -5.6 to +0.6 %, T. Koljonen and others 1995, J. Food Eng. 26:329;
        beta-amylases of barleys lose their activity at temperatures that lie about 2 K apart,
        J.K. Eglinton, P. Langridge and D.E. Evans 1998, J. Cereal Sci. 28:301; starch and
        diastatic power of malts, D.E. Briggs and others 2004, Brewing: Science and Practice; the
        model by what it leaves of the series of mash_result
    """
    formed_at = _run(tuple(_points(profile)), _PLAIN, ())[1]
    thickness = nominal(liquor_to_grist)
    model = _MODEL_SPREAD
    model += 0.006 * max(0.0, 60.0 - formed_at) + 0.004 * max(0.0, formed_at - 69.0)
    model += 0.006 * max(0.0, 2.0 - thickness, thickness - 4.0)
    return MashSpread(_ACTIVITY_SPREAD, _HEAT_SPREAD, _STARCH_SPREAD, model)
