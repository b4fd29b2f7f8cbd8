"""Two yeasts, or two liquors, held against each other over all batches brewed with them.

Batches of a small house differ in more than one thing, so every answer says what else may have
made the difference; pairs of batches whose plans differ in nothing else are named.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress

from msgspec import Struct

from reportgen.history.measures import MEASURES
from reportgen.history.row import BatchRow
from reportgen.history.series import COVERAGE, aside_of
from reportgen.record.model.flavours import term_words
from reportgen.science.method import REFUSED
from reportgen.science.statistics import Comparison, compare_means
from reportgen.science.triangle import triangle_p_value

FEWEST = 2
"""Batches needed of each before their means can be compared."""

LEVEL = 0.05
"""Level at which a triangle test is said to show a difference (ISO 4120)."""


class ComparisonLine(Struct, frozen=True):
    """One thing compared: values by batch, their means, the comparison if there can be one.

    ``kind`` and ``decimals`` say how values are printed; ``reason`` why nothing is compared.
    """

    key: str
    title: str
    kind: str
    decimals: int
    a: tuple[tuple[str, float], ...]
    b: tuple[tuple[str, float], ...]
    result: Comparison | None
    reason: str = ""

    @property
    def mean_a(self) -> float:
        """Mean of the first."""
        return math.fsum(v for _, v in self.a) / len(self.a)

    @property
    def mean_b(self) -> float:
        """Mean of the second."""
        return math.fsum(v for _, v in self.b) / len(self.b)


class Test(Struct, frozen=True):
    """A triangle test between a batch of the first and one of the second."""

    a: str
    b: str
    date: str
    assessors: int
    correct_responses: int
    p_value: float

    @property
    def told_apart(self) -> bool:
        """Whether so many right answers would be rare among people who guess."""
        return self.p_value <= LEVEL


class Pair(Struct, frozen=True):
    """Two batches whose plans differ in nothing else.

    ``difference`` is the attenuation of the first less that of the second, with ±U (k = 2) of
    both readings together; None where one of them has none.
    """

    a: str
    b: str
    difference: float | None = None
    uncertainty: float = 0.0


class GroupComparison(Struct, frozen=True):
    """Two yeasts (``by`` is yeast) or two liquors, compared."""

    by: str
    a: str
    b: str
    batches_a: tuple[str, ...]
    batches_b: tuple[str, ...]
    lines: tuple[ComparisonLine, ...]
    tests: tuple[Test, ...]
    pairs: tuple[Pair, ...]

    @property
    def compared(self) -> int:
        """How many comparisons were made."""
        return sum(line.result is not None for line in self.lines)


def groups(rows: Iterable[BatchRow], by: str) -> dict[str, tuple[BatchRow, ...]]:
    """Return the batches that were brewed, by yeast or liquor."""
    by_value: dict[str, list[BatchRow]] = {}
    for row in rows:
        if row.state != "planned":
            by_value.setdefault(row.yeast if by == "yeast" else row.liquor, []).append(row)
    return {name: tuple(members) for name, members in sorted(by_value.items())}


def _measure(key: str) -> Callable[[BatchRow], float | None]:
    def value(row: BatchRow) -> float | None:
        measure = row.measure(key)
        return None if measure is None or aside_of(row, MEASURES[key]) else measure.value

    return value


def _mash_ph(row: BatchRow) -> float | None:
    """Return mash pH, actual less expected, where it says something of the malt too.

    So a wort that two batches share counts once, and a batch that was set aside not at all.
    """
    figure = row.figure("mash_ph") if _measure("malt_ph")(row) is not None else None
    if figure is None or figure.actual is None or figure.expected is None:
        return None
    return figure.actual - figure.expected


def _days(row: BatchRow) -> float | None:
    if not row.brewed or not row.finished:
        return None
    start = datetime.date.fromisoformat(row.brewed)
    return float((datetime.date.fromisoformat(row.finished) - start).days)


def _score(attribute: str) -> Callable[[BatchRow], float | None]:
    def value(row: BatchRow) -> float | None:
        scores = [v for t in row.tastings for k, v in t.scores if k == attribute]
        return math.fsum(scores) / len(scores) if scores else None

    return value


def _questions(
    by: str, members: Iterable[BatchRow]
) -> Iterator[tuple[str, str, str, int, Callable[[BatchRow], float | None]]]:
    attenuation = MEASURES["attenuation"]
    if by == "yeast":
        yield (attenuation.key, attenuation.title, attenuation.kind, attenuation.decimals,
               _measure(attenuation.key))
        yield "days", "Days from pitching until steady", "count", 1, _days
    else:
        yield "mash_ph", "Mash pH, actual less expected", "ph", 2, _mash_ph
        yield (
            "mash_efficiency_difference",
            MEASURES["mash_efficiency_difference"].title,
            "share_difference",
            3,
            _measure("mash_efficiency_difference"),
        )
    for attribute in sorted({k for s in members for t in s.tastings for k, _ in t.scores}):
        title = f"Tasted: {term_words(attribute)}"
        yield f"score_{attribute}", title, "count", 1, _score(attribute)


def compare_groups(
    rows: Mapping[str, BatchRow], by: str, a: str, b: str
) -> GroupComparison:
    """Compare two yeasts or two liquors over all batches. KeyError when one was never brewed with.
    """
    sorted_in = groups(rows.values(), by)
    first, second = sorted_in[a], sorted_in[b]
    lines = []
    for key, title, kind, decimals, value in _questions(by, (*first, *second)):
        one = tuple((s.id, v) for s in first if (v := value(s)) is not None)
        two = tuple((s.id, v) for s in second if (v := value(s)) is not None)
        if one and two:
            lines.append(_line(key, title, kind, decimals, one, two))
    return GroupComparison(
        by,
        a,
        b,
        tuple(s.id for s in first),
        tuple(s.id for s in second),
        tuple(lines),
        tuple(_tests(first, second)),
        tuple(_pairs(by, first, second)),
    )


def _line(
    key: str, title: str, kind: str, decimals: int,
    one: tuple[tuple[str, float], ...], two: tuple[tuple[str, float], ...],
) -> ComparisonLine:
    if min(len(one), len(two)) < FEWEST:
        reason = f"needs {FEWEST} batches of each, has {len(one)} and {len(two)}"
        return ComparisonLine(key, title, kind, decimals, one, two, None, reason)
    try:
        result = compare_means([v for _, v in one], [v for _, v in two], COVERAGE)
    except ValueError:
        return ComparisonLine(key, title, kind, decimals, one, two, None, "all values are the same")
    return ComparisonLine(key, title, kind, decimals, one, two, result)


def _tests(first: Iterable[BatchRow], second: Iterable[BatchRow]) -> Iterator[Test]:
    """Yield each triangle test across the two once, though both records may tell of it."""
    ones, twos = {s.id for s in first}, {s.id for s in second}
    seen = set()
    for row in (*first, *second):
        for tasting in row.tastings:
            pair = {row.id, tasting.against}
            if not tasting.against or not (pair & ones and pair & twos):
                continue
            a = next(iter(pair & ones))
            b = next(iter(pair & twos))
            key = (a, b, tasting.date, tasting.triangle_tasters, tasting.triangle_correct)
            if key in seen:
                continue
            seen.add(key)
            # Answers that no panel can give say nothing; a check says so.
            with suppress(*REFUSED):
                p = float(triangle_p_value(tasting.triangle_tasters, tasting.triangle_correct))
                yield Test(*key, p)


SAME_BUT = {"yeast": ("pitch",), "liquor": ("liquor",)}
"""Sections of the plan in which a pair may differ."""

WORDS_ONLY = (
    "aims", "beer", "brew_on", "like", "notes", "revision", "tolerances", "written_by",
)  # fmt: skip
"""Sections of the plan that change nothing in the beer."""


def _pairs(by: str, first: Iterable[BatchRow], second: Iterable[BatchRow]) -> Iterator[Pair]:
    """Yield the pairs of batches whose plans differ only in what is compared."""
    skip = (*SAME_BUT[by], *WORDS_ONLY)

    def rest(row: BatchRow) -> tuple[tuple[str, str], ...]:
        return tuple((k, v) for k, v in row.plan_parts if k not in skip)

    same: dict[tuple[tuple[str, str], ...], list[BatchRow]] = {}
    for two in second:
        same.setdefault(rest(two), []).append(two)
    for one in first:
        for two in same.get(rest(one), ()):
            yield _pair(one, two)


def _pair(one: BatchRow, two: BatchRow) -> Pair:
    first, second = one.measure("attenuation"), two.measure("attenuation")
    if first is None or second is None:
        return Pair(one.id, two.id)
    u = math.hypot(first.uncertainty, second.uncertainty)
    return Pair(one.id, two.id, first.value - second.value, u)
