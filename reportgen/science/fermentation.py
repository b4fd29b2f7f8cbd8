"""Fermentation: where it will end, how far it is, whether it has stopped, the heat it makes."""

from __future__ import annotations

import enum
import math
from collections.abc import Mapping, Sequence
from itertools import product

from msgspec import Struct

from reportgen.science.least_squares import inverse, least_squares
from reportgen.science.method import method
from reportgen.science.number import Number

HEAT_OF_EXTRACT = 587.0
"""Heat from 1 kg of extract that ferments, kJ."""

BEER_HEAT_CAPACITY = 4.1
"""Heat that warms 1 L of beer by 1 K, kJ; 4.05 kJ/(kg K) at 1.012 kg/L."""

CURVE_U = 0.001
"""How well a logistic curve follows true gravities, SG (k = 2)."""

STEADY_HOURS = 24.0
"""Shortest time that readings must span to be called steady, h (common practice)."""

BEGUN_BY = 72.0
"""A wort that has not begun to ferment by then is stuck, h after pitching (common practice)."""


class Progress(enum.Enum):
    """How a fermentation stands."""

    DONE = "done"
    GOING = "going"
    SLOW = "slow"
    STUCK = "stuck"
    UNKNOWN = "too few readings"


class Prior(Struct, frozen=True):
    """What is known of the course of a fermentation before any reading.

    ``midpoint`` h after pitching and ``rate`` per h of the logistic curve; each usually lies
    within the factor ``spread`` (k = 2) of it, to either side.
    """

    midpoint: float
    rate: float
    spread: float


PRIORS: Mapping[str, Prior] = {
    "ale": Prior(24.0, 0.13, 1.6),
    "lager": Prior(60.0, 0.05, 1.6),
}
"""By what the yeast ferments as, common practice. An ale: high krausen at about 24 h, gas nearly
over at 40 h, within two points of the end on day 3. A lager: over in about a week."""


class Fit(Struct, frozen=True):
    """A logistic curve through the readings of a fermentation.

    Gravities in SG, times in h after pitching; ``_u`` is U (k = 2). ``end_time`` is when all but
    one point of gravity (0.001) will have gone; ``rmse`` is the root mean square of the readings
    about the curve. ``enough`` is whether at least half of what is known of the final gravity
    comes from the readings, rather than from what was expected.
    """

    fg: float
    fg_u: float
    midpoint: float
    rate: float
    end_time: float
    end_time_u: float
    rmse: float
    enough: bool


class Band(Struct, frozen=True):
    """Gravity expected at one time, between ``low`` and ``high`` (k = 2)."""

    expected: float
    low: float
    high: float


class Steady(Struct, frozen=True):
    """Whether readings show no change that the instrument can tell.

    ``steady`` is None when they do not span a day. ``change`` is the largest difference among
    them, ``limit`` the largest that the instrument cannot tell, ``hours`` the time they span,
    ``count`` how many they are.
    """

    steady: bool | None
    change: float
    limit: float
    hours: float
    count: int


class Standing(Struct, frozen=True):
    """How a fermentation stands, and the numbers that say so.

    ``above_end`` is the last gravity less the end expected, ``above_end_u`` its U. ``fall`` is
    what the gravity fell between the last two readings, ``fall_u`` its U, ``hours`` the time
    between them. ``band`` is what was expected at the time of the last reading, None without one.
    """

    progress: Progress
    above_end: float
    above_end_u: float
    fall: float
    fall_u: float
    hours: float
    band: Band | None


@method
def expected_band(
    time: float,
    og: float,
    fg: float,
    fg_u: float = 0.004,
    kind: str = "ale",
    prior: Prior | None = None,
) -> Band:
    """Gravity expected at one time, before there are readings.

    Formula:
        logistic curve at the midpoint and rate expected; lowest and highest of the curves at
        both ends of what they, and the final gravity, may be
    Inputs:
        time: h, 0 to 10000; since pitching
        og: SG, 0.98 to 1.2
        fg: SG, 0.98 to 1.2
        fg_u: SG, 0 to 0.05; U (k = 2) of the final gravity
        kind: word; ale or lager
        prior: Prior or None; own history in place of the kind
    Result: Band with expected, low, high
    Uncertainty: that of the band, which is one
    Source: curve of R.A. Speers, P. Rogers and B. Smith 2003, J. Inst. Brew. 109(3):229; its
        parameters are common practice
    """
    known = prior or PRIORS[kind]
    middle = _curve(time, og, fg, known.midpoint, known.rate)
    spread = (1.0 / known.spread, known.spread)
    ends = [
        _curve(time, og, min(og, end), known.midpoint * m, known.rate * b)
        for end, m, b in product((fg - fg_u, fg + fg_u), spread, spread)
    ]
    return Band(middle, min(middle, *ends), max(middle, *ends))


def _curve(time: float, og: float, fg: float, midpoint: float, rate: float) -> float:
    """Return gravity on a logistic curve that starts at the original gravity."""
    power = min(rate * (time - midpoint), 500.0)
    return fg + (og - fg) * (1.0 + math.exp(-rate * midpoint)) / (1.0 + math.exp(power))


def _end_time(og: float, fg: float, midpoint: float, rate: float) -> float:
    """Return when all but 0.001 of the gravity has gone; 0 when there was no more to begin with."""
    start = (og - fg) * (1.0 + math.exp(-rate * midpoint)) / 0.001
    return midpoint + math.log(start - 1.0) / rate if og - fg > 0.001 else 0.0


@method
def fit_log(
    times: Sequence[float],
    gravities: Sequence[float],
    gravity_uncertainty: float,
    og: float,
    fg: float,
    fg_uncertainty: float = 0.004,
    kind: str = "ale",
    prior: Prior | None = None,
) -> Fit:
    """Logistic curve through the readings of a fermentation, helped by what is expected.

    With few readings the curve is what was expected; with each further one it is theirs.

    Formula:
        least squares of (reading - curve) / u, u^2 = (U/2)^2 + 0.0005^2, with FG, ln M and ln B
        held to the values expected, each by its own uncertainty
    Inputs:
        times: h; since pitching, as many as gravities
        gravities: SG; corrected readings
        gravity_uncertainty: SG, 0 to 0.02; U (k = 2) of a reading
        og: SG, 1.0 to 1.2; original gravity, taken as known
        fg: SG, 0.98 to 1.2; final gravity expected
        fg_uncertainty: SG, 0.0001 to 0.05; U (k = 2) of it
        kind: word; ale or lager
        prior: Prior or None; own history in place of the kind
    Result: Fit
    Uncertainty: fg_u and end_time_u, from the fit; widened when the readings scatter more than they
        should
    Source: curve of R.A. Speers, P. Rogers and B. Smith 2003, J. Inst. Brew. 109(3):229; JCGM
        100:2008 for the weights
    """
    if len(times) != len(gravities) or not times:
        raise ValueError("needs as many times as gravities, and at least one of each")
    if not all(map(math.isfinite, (*times, *gravities))) or min(times) < 0:
        raise ValueError("times and gravities must be finite, times not before pitching")
    known = prior or PRIORS[kind]
    u_reading = math.hypot(gravity_uncertainty, CURVE_U) / 2.0
    u_log = math.log(known.spread) / 2.0
    expected = (fg, math.log(known.midpoint), math.log(known.rate))
    u_expected = (fg_uncertainty / 2.0, u_log, u_log)

    def residuals(p: Sequence[float]) -> list[float]:
        held = [(x - e) / u for x, e, u in zip(p, expected, u_expected, strict=True)]
        return held + [
            (_curve_and_slope(hours, og, p)[0] - read) / u_reading
            for hours, read in zip(times, gravities, strict=True)
        ]

    def slopes(p: Sequence[float]) -> list[list[float]]:
        held = [[float(i == k) / u_expected[k] for i in range(3)] for k in range(3)]
        return held + [
            [s / u_reading for s in _curve_and_slope(hours, og, p)[1]] for hours in times
        ]

    low = (0.9, math.log(0.5), math.log(0.001))
    high = (max(og, fg + 0.05), math.log(2000.0), math.log(5.0))
    solution = least_squares(residuals, slopes, expected, low, high, (0.001, 0.1, 0.1))
    widened = max(1.0, 2.0 * solution.cost / len(times))
    covariance = [[widened * c for c in row] for row in inverse(solution.normal)]
    end, log_midpoint, log_rate = solution.found

    def end_of(p: Sequence[float]) -> float:
        return _end_time(og, p[0], math.exp(p[1]), math.exp(p[2]))

    steps = (1e-5, 1e-4, 1e-4)
    point = [end, log_midpoint, log_rate]
    slope = [
        (end_of(_moved(point, i, step)) - end_of(_moved(point, i, -step))) / (2.0 * step)
        for i, step in enumerate(steps)
    ]
    end_variance = math.fsum(
        slope[i] * slope[k] * covariance[i][k] for i, k in product(range(3), repeat=2)
    )
    misses = [
        read - _curve_and_slope(hours, og, point)[0]
        for hours, read in zip(times, gravities, strict=True)
    ]
    fg_u = 2.0 * math.sqrt(covariance[0][0])
    return Fit(
        end,
        fg_u,
        math.exp(log_midpoint),
        math.exp(log_rate),
        end_of(point),
        2.0 * math.sqrt(max(0.0, end_variance)),
        math.sqrt(math.fsum(miss**2 for miss in misses) / len(misses)),
        fg_u <= fg_uncertainty / math.sqrt(2.0),
    )


def _curve_and_slope(time: float, og: float, p: Sequence[float]) -> tuple[float, list[float]]:
    """Return the logistic gravity and its slope along FG, ln M and ln B."""
    fg, midpoint, rate = p[0], math.exp(p[1]), math.exp(p[2])
    start = math.exp(-rate * midpoint)
    left = 1.0 / (1.0 + math.exp(min(rate * (time - midpoint), 500.0)))
    falling = (1.0 + start) * left * (1.0 - left)
    return fg + (og - fg) * (1.0 + start) * left, [
        1.0 - (1.0 + start) * left,
        (og - fg) * midpoint * rate * (falling - start * left),
        (og - fg) * rate * (-midpoint * start * left - falling * (time - midpoint)),
    ]


def _moved(point: Sequence[float], index: int, step: float) -> list[float]:
    """Return a point moved by ``step`` in one of its coordinates."""
    moved = list(point)
    moved[index] += step
    return moved


@method
def steady(readings: Sequence[tuple[float, float]], uncertainty: float) -> Steady:
    """Whether the last readings show no change that the instrument can tell.

    The readings looked at go from the last one back to the first that is at least a day older.

    Formula:
        largest - smallest <= U over readings that span 24 h or more
    Inputs:
        readings: pairs of h and SG; in order of time
        uncertainty: SG, 0 to 0.02; U (k = 2) of a reading
    Result: Steady
    Uncertainty: a fall of less than U over the time spanned is missed
    Source: common practice for the times; JCGM 100:2008 for U
    """
    if not readings:
        return Steady(None, 0.0, uncertainty, 0.0, 0)
    last = readings[-1][0]
    older = [i for i, (time, _) in enumerate(readings) if last - time >= STEADY_HOURS - 1e-9]
    chosen = readings[older[-1] :] if older else readings
    gravities = [gravity for _, gravity in chosen]
    change = max(gravities) - min(gravities)
    is_steady = None if not older else change <= uncertainty + 1e-9
    return Steady(is_steady, change, uncertainty, last - chosen[0][0], len(chosen))


@method
def stuck(
    readings: Sequence[tuple[float, float]],
    uncertainty: float,
    og: float,
    fg: float,
    fg_uncertainty: float = 0.004,
    kind: str = "ale",
    prior: Prior | None = None,
) -> Standing:
    """Whether a fermentation is done, going, slow or stuck.

    Formula:
        steady and within U of the end expected: done; steady and above: stuck; not steady and
        above the band expected: slow; else going. Steady at the original gravity counts as stuck
        only from 72 h on.
    Inputs:
        readings: pairs of h and SG; in order of time
        uncertainty: SG, 0 to 0.02; U (k = 2) of a reading
        og: SG, 0.98 to 1.2
        fg: SG, 0.98 to 1.2; final gravity expected
        fg_uncertainty: SG, 0 to 0.05; U (k = 2) of it
        kind: word; ale or lager
        prior: Prior or None; own history in place of the kind
    Result: Standing with progress and the numbers behind it
    Uncertainty: above_end_u and fall_u; a forced test makes the end expected sharper
    Source: common practice; JCGM 106:2012 for the comparison of a reading with a limit
    """
    end_u = math.hypot(uncertainty, fg_uncertainty)
    fall_u = math.sqrt(2.0) * uncertainty
    if not readings:
        return Standing(Progress.UNKNOWN, 0.0, end_u, 0.0, fall_u, 0.0, None)
    time, last = readings[-1]
    band = expected_band(time, og, fg, fg_uncertainty, kind, prior)
    fall = hours = 0.0
    if len(readings) > 1:
        fall, hours = readings[-2][1] - last, time - readings[-2][0]
    behind = last > band.high + uncertainty
    begun = og - last > fall_u
    if steady(readings, uncertainty).steady and (begun or time >= BEGUN_BY):
        progress = Progress.DONE if last - fg <= end_u else Progress.STUCK
    elif behind:
        progress = Progress.SLOW
    else:
        progress = Progress.GOING if len(readings) > 1 else Progress.UNKNOWN
    return Standing(progress, last - fg, end_u, fall, fall_u, hours, band)


@method
def heat_of_fermentation(extract_fermented: Number) -> Number:
    """Heat that a fermentation makes.

    Formula:
        Q = 587 m
    Inputs:
        extract_fermented: kg, 0 to 2000; real extract that goes
    Result: kJ
    Uncertainty: U = 12 % of the value; from 560 to 655 kJ/kg are in use
    Source: common practice (252 Btu from each lb); the enthalpies of formation in D.D. Wagman and
        others 1982, J. Phys. Chem. Ref. Data 11, Suppl. 2, give 604 kJ/kg of maltose
    """
    return HEAT_OF_EXTRACT * extract_fermented


@method
def temperature_rise(extract_fermented: Number, volume: Number) -> Number:
    """Rise of the temperature of beer were no heat lost.

    Formula:
        dT = 587 m / (4.1 V)
    Inputs:
        extract_fermented: kg, 0 to 2000; real extract that goes
        volume: L, 0.1 to 20000; beer
    Result: K
    Uncertainty: U = 12 % of the value
    Source: energy balance; heat as in heat_of_fermentation; 4.05 kJ/(kg K) for beer
    """
    return heat_of_fermentation(extract_fermented) / (BEER_HEAT_CAPACITY * volume)
