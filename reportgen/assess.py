"""Puts plan, forecast, readings, verdicts and findings of one batch together, as data.

Documents, figures and the ledger all start from an :class:`Assessment`; none computes anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.forecast.actual import Actual
from reportgen.forecast.book import Book, Expected
from reportgen.forecast.case import Case
from reportgen.forecast.figures import Figure
from reportgen.record.finding import Finding
from reportgen.record.load import Archive, Batch
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery, Kit
from reportgen.record.model.later import Deviation
from reportgen.record.model.stock import Stock
from reportgen.verdicts import Limits, Verdict


@dataclass(frozen=True)
class Result:
    """One figure of the batch: expected, limits, actual, verdict.

    All numbers in the base unit of the figure's kind. ``limits`` is None where no verdict is
    given. ``sheet_range`` is the range printed on the sheet, already narrowed by the U of the
    instrument at hand. ``verdict`` is None for a figure that is only computed.
    """

    figure: Figure
    expected: Expected | None
    limits: Limits | None
    sheet_range: tuple[float, float] | None
    actual: Actual | None
    verdict: Verdict | None
    severity: str = ""

    @property
    def difference(self) -> float | None:
        """Actual minus expected, or None."""
        if self.expected is None or self.actual is None or self.actual.value is None:
            return None
        return self.actual.value - self.expected.value


@dataclass(frozen=True)
class Effect:
    """What one deviation, or all together, did to one figure of the finished beer."""

    figure: Figure
    change: float
    uncertainty: float

    @property
    def can_be_told(self) -> bool:
        """Whether the change is larger than its U."""
        return abs(self.change) > self.uncertainty


@dataclass(frozen=True)
class Departure:
    """A reading off plan, what it did to the beer, and what the brewer wrote about it."""

    result: Result
    effects: tuple[Effect, ...]
    review: Deviation | None
    severity: str

    @property
    def is_open(self) -> bool:
        """Whether it is not yet closed in the review."""
        return self.review is None or self.review.closed_on is None


@dataclass(frozen=True)
class Assessment:
    """Everything that is known of one batch.

    ``planned`` is the walk of the forecast without readings, ``now`` the walk with all readings so
    far. ``problems`` says which stage could not be forecast and why.
    """

    archive: Archive
    batch: Batch
    record: Record
    brewery: Brewery
    stock: Stock
    kit: Kit
    case: Case
    planned: Book
    now: Book
    actuals: Mapping[str, Actual]
    results: tuple[Result, ...]
    departures: tuple[Departure, ...]
    problems: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()

    def result(self, key: str) -> Result:
        """Return the result of one figure. KeyError if there is none."""
        for result in self.results:
            if result.figure.key == key:
                return result
        raise KeyError(key)
