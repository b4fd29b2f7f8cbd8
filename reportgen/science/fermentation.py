"""Fermentation: where it will end, how far it is, whether it has stopped, the heat it makes."""

from __future__ import annotations

import enum
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reportgen.science.method import method
from reportgen.science.number import Number, exp, nominal

REFERENCE_MASH = 66.0
"""Mash temperature at which the attenuation of a yeast is stated, degC."""

HEAT_OF_EXTRACT = 587.0
"""Heat from 1 kg of extract that ferments, kJ."""


class Progress(enum.Enum):
    """How a fermentation stands."""

    DONE = "done"
    GOING = "going"
    SLOW = "slow"
    STUCK = "stuck"
    UNKNOWN = "too few readings"


@dataclass(frozen=True)
class Fit:
    """A logistic curve through the readings of a fermentation.

    Gravities SG, times h since pitching; ``_u`` is U (k = 2). ``end_time`` is when all but one
    point of gravity (0.001) will have gone. ``enough`` is whether the readings, rather than what
    was expected, settle the curve.
    """

    fg: float
    fg_u: float
    midpoint: float
    rate: float
    end_time: float
    end_time_u: float
    rmse: float
    enough: bool


@dataclass(frozen=True)
class Band:
    """Gravity expected at one time, between ``low`` and ``high`` (k = 2)."""

    expected: float
    low: float
    high: float


@dataclass(frozen=True)
class Standing:
    """How a fermentation stands, and the numbers that say so.

    ``above_end`` is the last gravity less the end expected, ``above_end_u`` its U; ``fall`` is
    what the gravity fell over the last ``hours``, ``fall_u`` its U.
    """

    progress: Progress
    above_end: float
    above_end_u: float
    fall: float
    fall_u: float
    hours: float


@dataclass(frozen=True)
class Steady:
    """Whether readings show no change that the instrument can tell.

    ``steady`` is None when they do not span a day. ``change`` is the largest difference among
    them, ``limit`` the difference that could be told, ``hours`` the time they span.
    """

    steady: bool | None
    change: float
    limit: float
    hours: float
    count: int


@method
def final_gravity(original_gravity: Number, apparent_attenuation: Number) -> Number:
    """Final gravity of a wort by the attenuation expected.

    Formula:
        FG = 1 + (OG - 1) (1 - A)
    Inputs:
        original_gravity: SG, 1.0 to 1.2 (trusted 1.02 to 1.12)
        apparent_attenuation: fraction, 0 to 1.2 (trusted 0.5 to 0.9)
    Result: SG at 20/20 degC
    Uncertainty: as that of the attenuation; 0.04 of it is 0.002 at 1.050
    Source: definition of apparent attenuation
    """
    return 1.0 + (original_gravity - 1.0) * (1.0 - apparent_attenuation)


@method
def attenuation_with_mash_temperature(
    attenuation: Number, mash_temperature: Number
) -> Number:
    """Apparent attenuation of a wort, from the yeast's own and the mash temperature.

    Formula:
        A = A66 f(T) / f(66)
    Inputs:
        attenuation: fraction, 0.3 to 1 (trusted 0.6 to 0.9); of a wort mashed at 66 degC
        mash_temperature: degC, 50 to 80 (trusted 60 to 75); of the main rest
    Result: fraction
    Uncertainty: U = 0.04 between 63 and 70 degC, 0.08 beyond
    Source: published fermentability against mash temperature
    """
    temperature = mash_temperature
    warm = temperature - REFERENCE_MASH
    if nominal(warm) < -3.0:
        warm = -3.0
    return attenuation * (1.0 - 0.015 * warm - 0.0025 * warm * warm)


@method
def logistic_gravity(
    time: Number, og: Number, fg: Number, midpoint: Number, rate: Number
) -> Number:
    """Gravity against time by the logistic curve.

    Formula:
        SG = FG + (OG - FG) / (1 + exp(B (t - M)))
    Inputs:
        time: h, 0 to 10000; since pitching
        og: SG, 0.98 to 1.2
        fg: SG, 0.98 to 1.2
        midpoint: h, 0 to 2000 (trusted 10 to 150); when half has fermented, M
        rate: 1/h, 0 to 2 (trusted 0.01 to 0.3); B
    Result: SG at 20/20 degC
    Uncertainty: U = 0.001 for a fitted curve, the scatter of published fits
    Source: R.A. Speers, P. Rogers and B. Smith 2003, J. Inst. Brew. 109(3):229; ASBC Yeast-14
    """
    power = rate * (time - midpoint)
    if nominal(power) > 500:
        return fg + 0.0 * power
    return fg + (og - fg) / (1.0 + exp(power))


@dataclass(frozen=True)
class Prior:
    """What is known of the course before any reading: midpoint h, rate per h, and the factor
    within which each usually lies (k = 2)."""

    midpoint: float
    rate: float
    spread: float


PRIORS = {"ale": Prior(28.0, 0.09, 2.0), "lager": Prior(70.0, 0.035, 2.0)}


@method
def expected_band(
    time: float, og: float, fg: float, fg_u: float = 0.002, kind: str = "ale"
) -> Band:
    """Gravity expected at one time before there are readings.

    Formula:
        logistic curve at the midpoint and rate of the kind, and at both ends of their spread
    Inputs:
        time: h, 0 to 10000; since pitching
        og: SG, 0.98 to 1.2
        fg: SG, 0.98 to 1.2
        fg_u: SG, 0 to 0.05; U (k = 2) of the final gravity
        kind: ale or lager
    Result: Band with expected, low, high
    Uncertainty: the band is its uncertainty
    Source: curve of R.A. Speers, P. Rogers and B. Smith 2003, J. Inst. Brew. 109(3):229
    """
    prior = PRIORS[kind]
    middle = float(logistic_gravity(time, og, fg, prior.midpoint, prior.rate))
    quick = float(
        logistic_gravity(
            time, og, fg - fg_u, prior.midpoint / prior.spread, prior.rate * prior.spread
        )
    )
    late = float(
        logistic_gravity(
            time, og, min(og, fg + fg_u), prior.midpoint * prior.spread, prior.rate / prior.spread
        )
    )
    return Band(middle, min(quick, middle), max(late, middle))


@method
def fit_log(
    times: Sequence[float],
    gravities: Sequence[float],
    gravity_uncertainty: float,
    og: float,
    fg: float,
    fg_uncertainty: float = 0.004,
    kind: str = "ale",
) -> Fit:
    """Logistic curve through the readings of a fermentation, helped by what is expected.

    Formula:
        least squares of (readings - curve) / u, with FG, ln M and ln B held weakly to the values
        expected of them
    Inputs:
        times: h; since pitching, as many as gravities
        gravities: SG; corrected readings
        gravity_uncertainty: SG, 0.00001 to 0.02; U (k = 2) of a reading
        og: SG, 1.0 to 1.2; original gravity, taken as known
        fg: SG, 0.98 to 1.2; final gravity expected
        fg_uncertainty: SG, 0.0001 to 0.05; U (k = 2) of it
        kind: ale or lager
    Result: Fit
    Uncertainty: fg_u and end_time_u, k = 2, from the fit
    Source: curve of R.A. Speers, P. Rogers and B. Smith 2003, J. Inst. Brew. 109(3):229
    """
    if len(times) != len(gravities) or not times:
        raise ValueError("needs as many times as gravities, and at least one of each")
    import numpy
    from scipy.optimize import least_squares

    prior = PRIORS[kind]
    hours = numpy.asarray(times, dtype=float)
    read = numpy.asarray(gravities, dtype=float)
    u = gravity_uncertainty / 2.0
    u_log = math.log(prior.spread) / 2.0

    def curve(p: Any) -> Any:
        power = numpy.clip(numpy.exp(p[2]) * (hours - numpy.exp(p[1])), -500, 500)
        return p[0] + (og - p[0]) / (1.0 + numpy.exp(power))

    def residuals(p: Any) -> Any:
        return numpy.concatenate(
            [
                (read - curve(p)) / u,
                [
                    (p[0] - fg) / (fg_uncertainty / 2.0),
                    (p[1] - math.log(prior.midpoint)) / u_log,
                    (p[2] - math.log(prior.rate)) / u_log,
                ],
            ]
        )

    start = numpy.array([fg, math.log(prior.midpoint), math.log(prior.rate)])
    found = least_squares(residuals, start, x_scale=[0.001, 0.1, 0.1])
    covariance = numpy.linalg.inv(found.jac.T @ found.jac)
    end, middle, rate = float(found.x[0]), math.exp(found.x[1]), math.exp(found.x[2])
    left = max((og - end) / 0.001 - 1.0, 1.0)
    end_time = middle + math.log(left) / rate
    slope = numpy.array(
        [-1.0 / ((og - end - 0.001) * rate) if og - end > 0.002 else 0.0, middle,
         -math.log(left) / rate]
    )
    end_u = 2.0 * math.sqrt(float(slope @ covariance @ slope))
    fg_u = 2.0 * math.sqrt(float(covariance[0, 0]))
    rmse = float(numpy.sqrt(numpy.mean((read - curve(found.x)) ** 2)))
    past = [t for t in times if t > middle]
    enough = len(times) >= 4 and len(past) >= 2 and fg_u < 0.75 * fg_uncertainty
    return Fit(end, fg_u, middle, rate, end_time, end_u, rmse, enough)


@method
def steady(readings: Sequence[tuple[float, float]], uncertainty: float) -> Steady:
    """Whether the last readings show no change that the instrument can tell.

    Formula:
        largest - smallest of the readings in the last 24 to 48 h <= U
    Inputs:
        readings: pairs of h and SG; in order of time
        uncertainty: SG, 0.00001 to 0.02; U (k = 2) of a reading
    Result: Steady
    Uncertainty: a fall of U in the time between the readings may be missed
    Source: common practice; JCGM 100:2008 for U
    """
    if not readings:
        return Steady(None, 0.0, uncertainty, 0.0, 0)
    last = readings[-1][0]
    inside = [r for r in readings if last - r[0] <= 48.0 + 1e-9]
    hours = last - inside[0][0]
    values = [gravity for _, gravity in inside]
    change = max(values) - min(values)
    if len(inside) < 2 or hours < 24.0 - 1e-9:
        return Steady(None, change, uncertainty, hours, len(inside))
    return Steady(change <= uncertainty + 1e-9, change, uncertainty, hours, len(inside))


@method
def stuck(
    readings: Sequence[tuple[float, float]],
    uncertainty: float,
    og: float,
    fg: float,
    fg_uncertainty: float = 0.004,
    kind: str = "ale",
) -> Standing:
    """Whether a fermentation is done, going, slow or stuck.

    Formula:
        steady and within U of the end expected: done; steady and above it: stuck; not steady
        and above the band expected: slow; else going
    Inputs:
        readings: pairs of h and SG; in order of time
        uncertainty: SG, 0.00001 to 0.02; U (k = 2) of a reading
        og: SG, 0.98 to 1.2
        fg: SG, 0.98 to 1.2; final gravity expected
        fg_uncertainty: SG, 0 to 0.05; U (k = 2) of it
        kind: ale or lager
    Result: Standing with progress and the numbers behind it
    Uncertainty: that of the end expected; a forced test makes it small
    Source: common practice; JCGM 106:2012 for the comparison of a reading with a limit
    """
    end_u = math.hypot(uncertainty, fg_uncertainty)
    if not readings:
        return Standing(Progress.UNKNOWN, 0.0, end_u, 0.0, 0.0, 0.0)
    time, last = readings[-1]
    state = steady(readings, uncertainty)
    fall = readings[-2][1] - last if len(readings) > 1 else 0.0
    hours = time - readings[-2][0] if len(readings) > 1 else 0.0
    band = expected_band(time, og, fg, fg_uncertainty, kind)
    if state.steady:
        progress = Progress.DONE if last - fg <= end_u else Progress.STUCK
    elif last > band.high + uncertainty:
        progress = Progress.SLOW
    elif len(readings) < 2:
        progress = Progress.UNKNOWN
    else:
        progress = Progress.GOING
    return Standing(progress, last - fg, end_u, fall, math.sqrt(2.0) * uncertainty, hours)


@method
def heat_of_fermentation(extract_fermented: Number) -> Number:
    """Heat that a fermentation makes.

    Formula:
        Q = 587 m
    Inputs:
        extract_fermented: kg, 0 to 1000; real extract that goes
    Result: kJ
    Uncertainty: U = 10 %
    Source: C. Boulton and D. Quain 2001, Brewing Yeast and Fermentation
    """
    return HEAT_OF_EXTRACT * extract_fermented


@method
def temperature_rise(extract_fermented: Number, volume: Number) -> Number:
    """Rise of the temperature were no heat lost.

    Formula:
        dT = 587 m / (4.1 V)
    Inputs:
        extract_fermented: kg, 0 to 1000; real extract that goes
        volume: L, 0.1 to 10000; beer
    Result: K
    Uncertainty: U = 12 %
    Source: energy balance; heat of heat_of_fermentation
    """
    return heat_of_fermentation(extract_fermented) / (4.1 * volume)
