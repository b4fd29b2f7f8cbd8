"""One's own history: what kit, yeasts and malts have done, charted, and what that proposes.

Warning and action limits say what this process usually does; they are never tolerance limits.
A batch is set aside from the limits, and shown all the same, when its review closes a deviation
of the figures concerned with a known cause: an assignable cause, in the words of the standards.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from msgspec import Struct

from reportgen.forecast.figures import DERIVED
from reportgen.history.measures import MEASURES, Measure
from reportgen.history.row import BatchRow
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock
from reportgen.record.units import Quantity
from reportgen.science.statistics import (
    ControlChart,
    Interval,
    individuals_chart,
    prediction_interval,
)

FEWEST = 3
"""Fewer values than this are listed but not charted (common practice)."""

FEWEST_TO_PROPOSE = 5
"""Fewer values than this propose nothing (common practice)."""

COVERAGE = 0.95


class Point(Struct, frozen=True):
    """One batch in a series: value and ±U (k = 2) in the base unit.

    ``aside`` says why it does not count for the limits; empty when it does. ``standing`` is usual,
    warning (beyond a warning limit) or action (beyond an action limit); empty without a chart.
    """

    batch: str
    day: str
    value: float
    uncertainty: float
    aside: str = ""
    standing: str = ""
    expected: float | None = None


class Series(Struct, frozen=True):
    """A measure of one kit or yeast over all batches, in order of time.

    ``stated`` is what the house's file states, with ``stated_text`` as written there; None when
    it states nothing. ``reading_share`` is the part of the variance that the instruments alone
    would make, 0 to 1 or more; None when the values do not vary.
    """

    measure: Measure
    name: str
    points: tuple[Point, ...]
    chart: ControlChart | None
    interval: Interval | None
    stated: float | None
    stated_text: str
    reading_share: float | None

    @property
    def counted(self) -> tuple[Point, ...]:
        """The points that make the limits."""
        return tuple(p for p in self.points if not p.aside)

    @property
    def jumps(self) -> tuple[tuple[Point, Point], ...]:
        """Each batch after which the next one changed by more than it usually does."""
        if self.chart is None:
            return ()
        most = self.chart.largest_change
        return tuple((a, b) for a, b in pairwise(self.counted) if abs(b.value - a.value) > most)

    @property
    def mean_reach(self) -> float | None:
        """Half-width of the 95 % interval of the mean, from that of the next value."""
        if self.interval is None:
            return None
        # t s sqrt(1 + 1/n) is the next value's; t s / sqrt(n) the mean's.
        reach = (self.interval.high - self.interval.low) / 2
        return reach / math.sqrt(len(self.counted) + 1)


class HouseProposal(Struct, frozen=True):
    """A value for one of the house's files, with what speaks for it; the brewer decides.

    ``value`` is the mean; ``spread`` half the interval of the next batch, where the file has a
    place for it; ``reach`` the half-width of the 95 % interval of the mean.
    """

    series: Series
    value: float
    reach: float
    spread: float | None


def place(path: Sequence[str], name: str) -> tuple[str, ...]:
    """Return the keys at which a file states a value for one kit or yeast."""
    return tuple(name if step == "*" else step for step in path)


def stated_in(brewery: Brewery | None, stock: Stock | None, measure: Measure, name: str) -> (
    Quantity | None
):
    """Return what the house's files state for a measure; None when nothing."""
    if not measure.path:
        return None
    stated: object = brewery if measure.file == "brewery.yaml" else stock
    for step in place(measure.path, name):
        stated = stated.get(step) if isinstance(stated, dict) else getattr(stated, step, None)
        if stated is None:
            return None
    return stated if isinstance(stated, Quantity) else None


def aside_of(row: BatchRow, measure: Measure) -> str:
    """Return why a batch does not count for the limits of a measure; empty when it does."""
    for deviation in row.deviations:
        known = deviation.cause_certainty == "known" and not deviation.is_open
        named = [f for f in deviation.figures if f in measure.figures]
        if known and named:
            return f"{named[0].replace('_', ' ')}, cause known"
    needed = {key for figure in measure.figures for key in (figure, *DERIVED.get(figure, ()))}
    doubted = row.doubt_of(needed)
    return f"{doubted.replace('_', ' ')} in doubt" if doubted else ""


def standing_of(value: float, chart: ControlChart | None) -> str:
    """Return where a value lies among the limits of a chart: usual, warning or action."""
    if chart is None:
        return ""
    if not chart.action[0] <= value <= chart.action[1]:
        return "action"
    return "usual" if chart.warning[0] <= value <= chart.warning[1] else "warning"


def owner_of(row: BatchRow, of: str) -> str:
    """Return the name of the kit, yeast or base malt of a batch, by what a measure is of."""
    return {"kit": row.kit, "yeast": row.yeast, "malt": row.malt}[of]


def series_of(
    rows: Iterable[BatchRow], measure: Measure, name: str,
    stated: Quantity | None = None,
) -> Series:
    """Return one measure of one kit or yeast over all batches that have it."""
    points = []
    for row in rows:
        owner = owner_of(row, measure.of)
        value = row.measure(measure.key)
        if owner == name and value is not None:
            points.append(
                Point(row.id, row.brewed, value.value, value.uncertainty, aside_of(row, measure),
                      "", value.expected)
            )
    points.sort(key=lambda point: (point.day, point.batch))
    counted = [p for p in points if not p.aside]
    values = [p.value for p in counted]
    chart = interval = share = None
    if len(values) >= FEWEST:
        chart = individuals_chart(values)
        interval = prediction_interval(values, COVERAGE)
        share = _reading_share(counted)
    return Series(
        measure,
        name,
        tuple(
            Point(p.batch, p.day, p.value, p.uncertainty, p.aside, standing_of(p.value, chart),
                  p.expected)
            for p in points
        ),
        chart,
        interval,
        stated.value if stated is not None else None,
        stated.text if stated is not None else "",
        share,
    )


def _reading_share(points: Sequence[Point]) -> float | None:
    """Return the mean square of the standard uncertainties over the variance of the values."""
    mean = math.fsum(p.value for p in points) / len(points)
    variance = math.fsum((p.value - mean) ** 2 for p in points) / (len(points) - 1)
    if variance <= 0:
        return None
    return math.fsum((p.uncertainty / 2) ** 2 for p in points) / len(points) / variance


def history_of(
    rows: Mapping[str, BatchRow], brewery: Brewery | None, stock: Stock | None
) -> tuple[Series, ...]:
    """Return every series that has a value: kits, yeasts, base malts, each in order of name."""
    histories = []
    for of in ("kit", "yeast", "malt"):
        names = sorted({owner_of(row, of) for row in rows.values()} - {""})
        for name in names:
            for measure in MEASURES.values():
                if measure.of != of:
                    continue
                stated = stated_in(brewery, stock, measure, name)
                series = series_of(rows.values(), measure, name, stated)
                if series.points:
                    histories.append(series)
    return tuple(histories)


def proposal_of(series: Series) -> HouseProposal | None:
    """Return what a series proposes for the house's file; None when the stated value stands.

    A change is proposed when the stated value lies outside the 95 % interval of the mean, or none
    is stated, and at least five batches count.
    """
    reach = series.mean_reach
    if not series.measure.path or series.interval is None or reach is None:
        return None
    if len(series.counted) < FEWEST_TO_PROPOSE:
        return None
    mean = series.interval.value
    if series.stated is not None and abs(mean - series.stated) <= reach:
        return None
    spread = (series.interval.high - series.interval.low) / 2 if series.measure.spread_path else (
        None
    )
    return HouseProposal(series, mean, reach, spread)


class Unusual(Struct, frozen=True):
    """A batch beyond an action limit of a series."""

    series: Series
    point: Point


def unusual_in(history: Iterable[Series]) -> tuple[Unusual, ...]:
    """Return where batches lie beyond an action limit, not counting what is set aside."""
    return tuple(
        Unusual(series, point)
        for series in history
        for point in series.points
        if point.standing == "action" and not point.aside
    )
