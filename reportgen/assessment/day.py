"""The brew day as it was: what was weighed, added, taken out and timed, as one row of facts.

Each fact is a change of the case (an amount, a lot, a length of the boil, something added) or a
reading. The plan's case with all facts in it is the batch as brewed; with the first k of them it is
what was known then. The same stages walk all of these, so there is one forecast and never a second
formula for what is actual.

What was not written down keeps its planned value, less well known; those shares are common
practice, no source.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from msgspec.structs import replace

from reportgen.assessment.day_added import addition_facts, withdrawal_facts
from reportgen.assessment.day_clocks import NOT_TIMED_U, boiled_for, clock_facts
from reportgen.assessment.day_fact import DayFact
from reportgen.assessment.day_fermented import pressure_facts, warmest_facts
from reportgen.assessment.day_weighed import (
    NOT_WEIGHED_U,
    WEIGHED_TABLES,
    amount_field,
    hops_aged,
    weighed_facts,
)
from reportgen.assessment.readings import (
    reading_at,
)
from reportgen.assessment.times import moment
from reportgen.forecast.case import (
    Case,
    HopDose,
    MaltDose,
    SugarDose,
)
from reportgen.forecast.figures import FIGURES, Figure, Stage
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock
from reportgen.science.number import nominal


def changes_of(record: Record, brewery: Brewery, stock: Stock) -> tuple[DayFact, ...]:
    """Return the facts of a record that change its case, in the order of time."""
    facts = [
        *hops_aged(record, stock),
        *weighed_facts(record, brewery, stock),
        *clock_facts(record, brewery, stock),
        *addition_facts(record, brewery, stock),
        *withdrawal_facts(record),
        *warmest_facts(record, brewery),
        *pressure_facts(record, brewery),
    ]
    return _in_order(facts)


def with_readings(
    changes: Iterable[DayFact], record: Record, read: Iterable[str]
) -> tuple[DayFact, ...]:
    """Return every fact of a record in the order of time.

    ``read`` are the keys of the figures with a reading. A fact without a time takes its place in
    the order of the sheet.
    """
    return _in_order([*changes, *_readings(record, read)])


def _in_order(facts: Iterable[DayFact]) -> tuple[DayFact, ...]:
    """Sort by stage, then let a written time decide; what has none stays behind its neighbour."""
    order = list(Stage)
    by_sheet = sorted(facts, key=lambda f: order.index(f.stage))
    never = datetime.datetime.min
    placed, last = [], never
    for fact in by_sheet:
        last = max(last, fact.at or never)
        placed.append((fact.at or last, fact if fact.is_timed else replace(fact, at=None)))
    return tuple(fact for _, fact in sorted(placed, key=lambda pair: pair[0]))


def not_written(record: Record, brewed: Case) -> tuple[str, ...]:
    """Say what of the brew day nobody wrote, so that it is as planned, and how sure that is."""
    day = record.brew_day
    if day is None or not (day.weighed or day.run_off or day.boil or day.pitch):
        return ()
    names = dict.fromkeys(
        item.title if isinstance(item, MaltDose | SugarDose | HopDose) else item.name
        for table in WEIGHED_TABLES for item in getattr(brewed, table)
        if not item.is_weighed and nominal(getattr(item, amount_field(item)[0]))
    )
    share = f"±{NOT_WEIGHED_U:.0%}".replace("%", " %")
    said = [f"{str(name).replace('_', ' ')} {share}" for name in names]
    boil = day.boil
    if boil is not None and boiled_for(record) is None:
        said.append(f"length of the boil ±{NOT_TIMED_U:.0f} min")
    return tuple(said)


def _readings(record: Record, keys: Iterable[str]) -> list[DayFact]:
    facts = []
    for key in keys:
        figure = FIGURES[key]
        read = reading_at(record, figure)
        at, stage = moment(record, read.at) if read is not None else None, figure.stage
        if read is None and figure.analysed:
            stage = Stage.PACK
        later = at or _section_day(record, figure, read is None)
        facts.append(
            DayFact(f"read:{key}", stage, figure.title, None, later, at is not None, figure=key)
        )
    return facts


def _section_day(
    record: Record, figure: Figure, by_analysis: bool
) -> datetime.datetime | None:
    """Return the end of the day on which a section's readings were taken; None on the brew day."""
    day = None
    if by_analysis:
        day = record.analysis.date if record.analysis is not None else None
    elif figure.stage is Stage.FERMENT and record.fermentation is not None:
        day = record.fermentation.finished
    elif figure.stage is Stage.PACK and record.packaging is not None:
        day = record.packaging.date
    return None if day is None else datetime.datetime.combine(day.date, datetime.time(23, 59))
