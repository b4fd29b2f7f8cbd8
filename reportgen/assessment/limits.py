"""Limits of the figures of a batch: what the plan sets, else the house, else the trade."""

from __future__ import annotations

import math

from msgspec.structs import replace

from reportgen.assessment.verdicts import Limits
from reportgen.forecast.book import Expected, Forecast
from reportgen.forecast.figures import Figure, ToleranceSide
from reportgen.forecast.resolve import CUT_OFF_GRAVITY, number_of
from reportgen.forecast.vessels import container_of
from reportgen.record.finding import Severity
from reportgen.record.kinds import KINDS, read_quantity, read_width
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.units import Quantity, UnitError
from reportgen.science.number import nominal


def critical_limits(figure: Figure, record: Record, brewery: Brewery) -> Limits | None:
    """Return the critical limit that the plan sets for a figure; None for none.

    A value of another kind than the figure's is left out; a check says so.
    """
    given = record.plan.critical_limits.get(figure.key)
    if given is None:
        return None
    low, high = (
        limit_of(figure, side, brewery.bare_gallon) for side in (given.at_least, given.at_most)
    )
    if low is None and high is None:
        return None
    return Limits(
        -math.inf if low is None else low, math.inf if high is None else high, "critical", True
    )


def limit_of(figure: Figure, given: Quantity | None, gallon: str | None = None) -> float | None:
    """Return a limit set for a figure, in its base unit; None for none, or one of another kind."""
    if given is None:
        return None
    try:
        limit = read_quantity(given.text, figure.kind, None, gallon)
    except UnitError:
        return None
    return number_of(limit)


def limits_of(
    figure: Figure, expected: float, record: Record, brewery: Brewery
) -> Limits | None:
    """Return the limits of a figure: of the plan, else the house, else the default.

    A critical limit of the plan makes them narrower where it is the stricter. None for a figure
    with neither tolerance nor critical limit.
    """
    critical = critical_limits(figure, record, brewery)
    tolerance = _tolerance_of(figure, expected, record, brewery)
    limits = critical if tolerance is None else tolerance.within(critical)
    if figure.key != "pressure" or limits is None:
        return limits
    return _within_rating(limits, container_of(record, brewery).rating)


def _within_rating(limits: Limits, rating: float | None) -> Limits:
    """Return limits that end at the rating of the vessel: nothing above it is on plan."""
    if rating is None or rating >= limits.high:
        return limits
    return Limits(limits.low if limits.low < rating else -math.inf, rating, "rating")


def _tolerance_of(
    figure: Figure, expected: float, record: Record, brewery: Brewery
) -> Limits | None:
    for origin, given in (("plan", record.plan.tolerances), ("house", brewery.tolerances)):
        if figure.key in given:
            quantity = read_width(given[figure.key].text, figure.kind, brewery.bare_gallon)
            if quantity is None:
                # Of another kind: the loader has said so.
                continue
            share = KINDS[figure.kind].is_share_of(quantity)
            return _limits(figure, expected, quantity.value, share, origin)
    if figure.tolerance is None or (figure.is_stop and not stops_at_gravity(record)):
        return None
    return _limits(figure, expected, figure.tolerance, figure.relative, "default")


def stops_at_gravity(record: Record) -> bool:
    """Whether the run-off is stopped at a gravity; a mash that is drained runs to its end."""
    run_off = record.plan.run_off
    return str(run_off.sparge) == "continuous" or run_off.cut_off_gravity is not None


def _limits(figure: Figure, expected: float, width: float, share: bool, origin: str) -> Limits:
    half = abs(expected) * width if share else width
    low = -math.inf if figure.side is ToleranceSide.NOT_ABOVE else expected - half
    high = math.inf if figure.side is ToleranceSide.NOT_BELOW else expected + half
    return Limits(low, high, origin, figure.severity is Severity.CRITICAL)


_GAS_BY = {"pressure": "beer_temperature", "priming_sugar": "packaged_volume"}
"""What the gas is brought by, and the reading that it depends on."""


def reference_of(
    key: str, planned: Forecast, now: Forecast, read: float | None = None
) -> Expected | None:
    """Return the number that a reading is judged by: the planned one, save for what brings the gas.

    The plan wants an amount of gas; pressure and sugar are only how it is reached. The gas that a
    pressure holds depends on the temperature of the beer, and the sugar on how much beer it is
    for, so once that has been read the walk with readings says what is wanted, as the what-to-do
    tables of the sheet do. The planned amount would find fault with whoever followed these.
    Temperature and volume are not forgiven by this: they have verdicts of their own. Every other
    reading is held against the plan, so that one slip does not excuse the next.

    How warm the beer got is in the log, or was as planned: of the two amounts of sugar the one
    nearer to what was ``read``.
    """
    ours, theirs = now.expected.get(key), planned.expected.get(key)
    if _GAS_BY.get(key) not in now.readings or ours is None:
        return theirs
    if key != "priming_sugar" or theirs is None or read is None:
        return ours
    as_planned = _for_the_beer(theirs, ours)
    return min((ours, as_planned), key=lambda wanted: abs(wanted.value - read))


def _for_the_beer(planned: Expected, now: Expected) -> Expected:
    """Return the sugar of the plan, as warm as planned, for as much beer as there is."""
    beers = [put for wanted in (planned, now) for put in wanted.puts if put.name == "beer"]
    if len(beers) < 2 or not nominal(beers[0].value):
        return now
    puts = tuple(beers[1] if put is beers[0] else put for put in planned.puts)
    ratio = nominal(beers[1].value) / nominal(beers[0].value)
    return replace(planned, number=planned.number * ratio, puts=puts)


def limit_centre(figure: Figure, expected: Expected, record: Record) -> float:
    """Return what the tolerance lies around: the expected value, or a limit that the plan sets."""
    if figure.is_stop:
        stop = record.plan.run_off.cut_off_gravity
        return number_of(stop) if stop is not None else CUT_OFF_GRAVITY
    return expected.value
