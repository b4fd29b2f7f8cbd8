"""One batch as it stands in lists and series: the small part of its summary.

Rows of all batches are held at once, so what is the same in many of them is one object.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Collection
from functools import lru_cache
from sys import intern
from typing import Literal, TypeVar, get_args

from msgspec import Struct

from reportgen.history.measures import MEASURES, Measured
from reportgen.record.finding import Finding, Severity

Listed = Literal[
    "original_gravity", "final_gravity", "alcohol", "bitterness", "colour", "packaged_volume",
    "apparent_attenuation", "mash_ph",
]  # fmt: skip
"""Figures that a row has: those that lists, series and comparisons show."""

class RowFigure(Struct, frozen=True):
    """What lists show of a figure: numbers in the base unit of its kind; None where there is none.

    ``actual`` is what was read, or follows from readings alone. ``as_brewed`` is what the record
    shows as the actual: for a figure that nobody measures, the forecast with the readings.
    """

    expected: float | None
    actual: float | None
    as_brewed: float | None


class FigureValue(RowFigure, frozen=True, array_like=True):
    """All of one figure: with its limits, the U of the actual (k = 2) and the verdict."""

    low: float | None
    high: float | None
    uncertainty: float | None
    verdict: str


class DeviationValue(Struct, frozen=True):
    """A deviation: computed from the readings, written in the review, or both.

    ``difference`` is the actual less the expected, in the base unit; None for one that only the
    review has. ``also`` are the other figures that the same cause shows in. ``is_open`` until the
    review closes it.
    """

    figure: str
    severity: Severity
    is_open: bool
    difference: float | None
    also: tuple[str, ...] = ()
    what: str = ""
    cause: str = ""
    cause_certainty: str = ""
    effect: str = ""
    correction: str = ""
    corrective_action: str = ""
    other_batches: str = ""
    disposition: str = ""
    closed_by: str = ""
    closed_on: str = ""

    @property
    def figures(self) -> tuple[str, ...]:
        """All figures that it shows in."""
        return (self.figure, *self.also)


class TastingValue(Struct, frozen=True, array_like=True):
    """One tasting session: mean scores, and the triangle test if one was held."""

    date: str
    tasters: int
    scores: tuple[tuple[str, float], ...]
    against: str = ""
    triangle_tasters: int = 0
    triangle_correct: int = 0


class BatchRow(Struct, frozen=True):
    """One batch in plain values. Dates are ISO texts, empty where there is none.

    ``beer`` is what kind of beer it is, in the brewer's words; ``like`` the batch that its plan
    starts from. ``plan_parts`` has a short hash of each section of the whole plan, so that two
    plans can be held against each other section by section. ``doubts`` are the figures in doubt,
    each with its instrument.
    """

    id: str
    file: str
    name: str
    beer: str
    like: str
    state: str
    disposition: str
    brewed: str
    finished: str
    packed: str
    last_day: str
    kit: str
    liquor: str
    yeast: str
    malt: str
    generation: int | None
    mash_temperature: float | None
    plan_parts: tuple[tuple[str, str], ...]
    counts: tuple[tuple[str, int], ...]
    deviations: tuple[DeviationValue, ...]
    tastings: tuple[TastingValue, ...]
    findings: tuple[Finding, ...]
    doubts: tuple[tuple[str, str], ...]

    def figure(self, key: Listed) -> RowFigure | None:
        """Return a figure by its key, or None."""
        raise NotImplementedError

    def measure(self, key: str) -> Measured | None:
        """Return a measure by its key, or None."""
        raise NotImplementedError

    def doubt_of(self, keys: Collection[str]) -> str:
        """Return the instrument in doubt that read one of some figures; empty for none."""
        return next((name for key, name in self.doubts if key in keys), "")

    def count(self, verdict: str) -> int:
        """Return how many figures have a verdict."""
        return next((n for name, n in self.counts if name == verdict), 0)

    @property
    def open_deviations(self) -> tuple[DeviationValue, ...]:
        """The deviations that nobody has closed yet."""
        return tuple(d for d in self.deviations if d.is_open)


class SmallRow(BatchRow, frozen=True):
    """A row by itself. ``numbers`` has three of each figure and measure; infinite for none.

    Packed so, since most of a row is numbers and each would be an object of its own.
    """

    numbers: array[float]

    def figure(self, key: Listed) -> RowFigure | None:
        """Return a figure by its key, or None."""
        expected, actual, as_brewed = self._three(_PLACES[key])
        return None if expected is actual is as_brewed is None else (
            RowFigure(expected, actual, as_brewed)
        )

    def measure(self, key: str) -> Measured | None:
        """Return a measure by its key, or None."""
        value, uncertainty, expected = self._three(_PLACES[key])
        if value is None or uncertainty is None:
            return None
        return Measured(value, uncertainty, expected)

    def _three(self, place: int) -> tuple[float | None, ...]:
        return tuple(
            number if math.isfinite(number) else None for number in self.numbers[place : place + 3]
        )


_PLACES = {key: 3 * number for number, key in enumerate((*get_args(Listed), *MEASURES))}
"""Where the numbers of a figure or measure begin; no measure is named as a listed figure."""


def row_of(whole: BatchRow) -> SmallRow:
    """Return the row of a summary, which is a row with more to it."""
    shown = {key: whole.figure(key) for key in get_args(Listed)}
    numbers = [n for s in shown.values() for n in (
        (s.expected, s.actual, s.as_brewed) if s is not None else NONE
    )]
    for measured in map(whole.measure, MEASURES):
        numbers += NONE if measured is None else (
            measured.value, measured.uncertainty, measured.expected
        )
    return SmallRow(
        whole.id,
        whole.file,
        whole.name,
        intern(whole.beer),
        intern(whole.like),
        intern(whole.state),
        intern(whole.disposition),
        whole.brewed,
        whole.finished,
        whole.packed,
        whole.last_day,
        intern(whole.kit),
        intern(whole.liquor),
        intern(whole.yeast),
        intern(whole.malt),
        whole.generation,
        whole.mash_temperature,
        tuple(_pair(*pair) for pair in whole.plan_parts),
        tuple(_pair(*pair) for pair in whole.counts),
        whole.deviations,
        whole.tastings,
        whole.findings,
        whole.doubts,
        array("d", (math.inf if number is None else number for number in numbers)),
    )


NONE: tuple[float | None, ...] = (None, None, None)

Value = TypeVar("Value")


@lru_cache(maxsize=4096)
def _pair(key: str, value: Value) -> tuple[str, Value]:
    return key, value
