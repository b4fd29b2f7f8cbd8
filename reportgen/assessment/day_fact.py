"""One thing that was done or read on the brew day, and what it changes of a case.

A fact is a change of the case (an amount, a lot, a length of the boil, something added) or a
reading. The plan's case with all facts in it is the batch as brewed; with the first k of them it is
what was known then.
"""

from __future__ import annotations

import datetime
import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from reportgen.assessment.additions import entries_of, in_kettle, in_time
from reportgen.assessment.fillings import filled_with
from reportgen.assessment.instruments import weighs_high_by
from reportgen.assessment.readings import (
    fitting,
    house_instrument,
    instrument_uncertainty,
    reading_at,
    true_temperature,
)
from reportgen.assessment.times import moment
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import (
    AcidDose,
    Case,
    HopDose,
    LiquorAdded,
    MaltDose,
    SaltDose,
    SugarDose,
    Withdrawal,
)
from reportgen.forecast.figures import FIGURES, Figure, Stage
from reportgen.forecast.materials import hop_of, malt_of, sugar_of
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Added, BoilDay, Weighed
from reportgen.record.model.brewery import Brewery, Instrument
from reportgen.record.model.plan import Plan
from reportgen.record.model.stock import Stock
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Moment, Reading, State, When
from reportgen.science.acid import acid_density
from reportgen.science.number import Number, nominal, ufloat

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
