"""One batch as it stands in lists and series: the small part of its summary.

Rows of all batches are held at once, so what is the same in many of them is one object.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from sys import intern
from typing import Literal, TypeVar, get_args

from reportgen.archive.measures import Measured
from reportgen.record.finding import Finding

Listed = Literal[
    "original_gravity", "final_gravity", "alcohol", "bitterness", "colour", "packed_volume",
    "apparent_attenuation", "mash_ph",
]  # fmt: skip
"""Figures that a row has: those that lists, series and comparisons show."""

LISTED: frozenset[str] = frozenset(get_args(Listed))

STATES = ("planned", "brewed", "fermented", "packed", "tasted")
"""How far a batch has come, by what its record has."""


@dataclass(frozen=True, slots=True)
class FigureValue:
    """One figure: numbers in the base unit of its kind; None where there is none.

    ``actual`` is what was read, or follows from readings alone. ``as_brewed`` is what the record
    shows as the actual: for a figure that nobody measures, the forecast with the readings.
    """

    expected: float | None
    low: float | None
    high: float | None
    actual: float | None
    uncertainty: float | None
    verdict: str
    as_brewed: float | None


@dataclass(frozen=True, slots=True)
class EffectValue:
    """What a deviation did to one figure of the beer."""

    figure: str
    change: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class DeviationValue:
    """A deviation: computed from the readings, written in the review, or both.

    ``difference`` is the actual less the expected, in the base unit; None for one that only the
    review has. ``is_open`` until the review closes it.
    """

    figure: str
    severity: str
    is_open: bool
    difference: float | None
    effects: tuple[EffectValue, ...] = ()
    what: str = ""
    cause: str = ""
    cause_is: str = ""
    correction: str = ""
    corrective_action: str = ""
    other_batches: str = ""
    disposition: str = ""
    closed_by: str = ""
    closed_on: str = ""


@dataclass(frozen=True, slots=True)
class TastingValue:
    """One tasting session: mean scores, and the triangle test if one was held."""

    date: str
    tasters: int
    scores: tuple[tuple[str, float], ...]
    against: str = ""
    triangle_tasters: int = 0
    triangle_correct: int = 0


@dataclass(frozen=True, slots=True)
class Row:
    """One batch in plain values. Dates are ISO texts, empty where there is none.

    ``plan_parts`` has a short hash of each section of the whole plan, so that two plans can be
    held against each other section by section. ``figures`` are those of :data:`Listed`.
    """

    id: str
    file: str
    name: str
    state: str
    disposition: str
    brewed: str
    finished: str
    packed: str
    last_day: str
    kit: str
    liquor: str
    yeast: str
    generation: int | None
    mash_temperature: float
    plan_parts: tuple[tuple[str, str], ...]
    figures: tuple[tuple[str, FigureValue], ...]
    measures: tuple[tuple[str, Measured], ...]
    counts: tuple[tuple[str, int], ...]
    deviations: tuple[DeviationValue, ...]
    tastings: tuple[TastingValue, ...]
    findings: tuple[Finding, ...]

    def figure(self, key: Listed) -> FigureValue | None:
        """Return a figure by its key, or None."""
        return next((value for name, value in self.figures if name == key), None)

    def measure(self, key: str) -> Measured | None:
        """Return a measure by its key, or None."""
        return next((value for name, value in self.measures if name == key), None)

    def count(self, verdict: str) -> int:
        """Return how many figures have a verdict."""
        return next((n for name, n in self.counts if name == verdict), 0)

    @property
    def open_deviations(self) -> tuple[DeviationValue, ...]:
        """The deviations that nobody has closed yet."""
        return tuple(d for d in self.deviations if d.is_open)


def row_of(whole: Row) -> Row:
    """Return the row of a summary, which is a row with more to it."""
    return Row(
        whole.id,
        whole.file,
        whole.name,
        intern(whole.state),
        intern(whole.disposition),
        whole.brewed,
        whole.finished,
        whole.packed,
        whole.last_day,
        intern(whole.kit),
        intern(whole.liquor),
        intern(whole.yeast),
        whole.generation,
        whole.mash_temperature,
        tuple(_pair(*pair) for pair in whole.plan_parts),
        tuple((intern(key), value) for key, value in whole.figures if key in LISTED),
        tuple((intern(key), value) for key, value in whole.measures),
        tuple(_pair(*pair) for pair in whole.counts),
        whole.deviations,
        whole.tastings,
        whole.findings,
    )


Value = TypeVar("Value")


@lru_cache(maxsize=4096)
def _pair(key: str, value: Value) -> tuple[str, Value]:
    return key, value
