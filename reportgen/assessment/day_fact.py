"""One thing that was done or read on the brew day, and what it changes of a case.

A fact is a change of the case (an amount, a lot, a length of the boil, something added) or a
reading. The plan's case with all facts in it is the batch as brewed; with the first k of them it is
what was known then.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping

from msgspec import Struct, field
from msgspec.structs import replace

from reportgen.forecast.book import Forecast
from reportgen.forecast.case import (
    Case,
)
from reportgen.forecast.figures import Stage
from reportgen.record.units import Quantity

CaseChange = Callable[[Case], Case]


class Moved(Struct, frozen=True):
    """What one fact did to one outcome, in the base unit of its kind, with ±U (k = 2).

    ``before`` and ``after`` are the forecasts of the finished beer around it.
    """

    key: str
    before: float
    after: float
    uncertainty: float

    @property
    def size(self) -> float:
        """After minus before."""
        return self.after - self.before

    @property
    def is_clear(self) -> bool:
        """Whether it is larger than its U."""
        return abs(self.size) > self.uncertainty


class DayFact(Struct, frozen=True):
    """One thing that was done or read.

    ``at`` is its own time, None where none was written. ``change`` moves the case, ``figure`` is
    the key of the one that was read; one of the two is there. ``amount`` is what was written of
    what was done. ``moved`` has what it did to the finished beer, by outcome; only a replay knows.
    """

    key: str
    stage: Stage
    title: str
    amount: Quantity | None
    at: datetime.datetime | None
    is_timed: bool
    change: CaseChange | None = None
    figure: str = ""
    moved: Mapping[str, Moved] = field(default_factory=dict)


def as_brewed(case: Case, facts: Iterable[DayFact]) -> Case:
    """Return the case with every fact in it that changes it."""
    for fact in facts:
        if fact.change is not None:
            case = fact.change(case)
    return case


def as_it_would_have_been(case: Case, planned: Forecast) -> Case:
    """Return the plan's case with what the forecast chose in it fixed: the sparge liquor.

    On the day the sparge is the one of the sheet; it does not follow what happens in the boil.
    """
    if case.sparge_liquor is not None or "sparge_liquor" not in planned:
        return case
    return replace(case, sparge_liquor=planned.expected["sparge_liquor"].number)
