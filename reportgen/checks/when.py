"""How far a batch has come: whether a stage of the work is over, so that nothing can be done to it.

A stage is over once anything is written that comes after it. No clock is asked.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from reportgen.forecast.figures import Stage
from reportgen.record.each_value import member_names
from reportgen.record.model.batch import Record
from reportgen.record.values import Day, Moment


def is_over(record: Record, stage: Stage) -> bool:
    """Whether a stage is over: something of a later one has been written.

    Packaging is over once the beer has been tasted or analysed, and all of it once the beer was poured
    away.
    """
    return record.is_scrapped or any(_is_written(part) for part in _after(record)[stage])


def days_after_brewing(record: Record) -> list[tuple[str, Day | Moment]]:
    """Return the days of the record that lie after its brew day, each with what it is the day of."""
    made, review = record.fermentation, record.review
    log = min((e.at for e in made.log), key=lambda at: at.at, default=None) if made else None
    days: list[tuple[str, Day | Moment | None]] = [
        ("the first reading of the log", log),
        ("the end of fermentation", made.finished if made else None),
        ("the harvest", made.harvest.at if made and made.harvest else None),
        ("packaging", record.packaging.date if record.packaging else None),
        ("analysis", record.analysis.date if record.analysis else None),
        *(("tasting", session.date) for session in record.tasting),
        ("the decision", review.decided_on if review else None),
    ]
    return [(what, day) for what, day in days if day is not None]


def date_of(day: Day | Moment) -> datetime.date:
    """Return the date of a day or a moment."""
    return day.date if isinstance(day, Day) else day.at.date()


def is_brewed_last(record: Record) -> bool:
    """Whether most of the days after brewing, two at least, are before the brew day.

    Then it is the brew day that is mistyped, and not each of them.
    """
    if record.brew_day is None:
        return False
    brewed, days = record.brew_day.date.date, days_after_brewing(record)
    early = sum(date_of(day) < brewed for _, day in days)
    return early >= 2 and 2 * early > len(days)


def _after(record: Record) -> dict[Stage, tuple[Any, ...]]:
    """Return the parts of the record that come after each stage."""
    day = record.brew_day
    tasted = (record.tasting, record.analysis)
    packed = (record.packaging, *tasted)
    fermented = (record.fermentation, *packed)
    pitched = (day.pitch if day else None, *fermented)
    boiled = (day.boil if day else None, *pitched)
    run_off = (day.run_off if day else None, *boiled)
    mashed = (day.mash if day else None, *run_off)
    return {
        Stage.LIQUOR: mashed,
        Stage.MASH: run_off,
        Stage.RUN_OFF: boiled,
        Stage.BOIL: pitched,
        Stage.PITCH: fermented,
        Stage.FERMENT: packed,
        Stage.PACK: tasted,
    }


def _is_written(part: Any) -> bool:
    """Whether anything is written in a part: not only which instruments are to be used."""
    if not _is_filled(part) or not member_names(part):
        return _is_filled(part)
    return any(
        _is_filled(getattr(part, name))
        for name in member_names(part)
        if name not in ("position", "instruments")
    )


def _is_filled(value: Any) -> bool:
    """Whether a field holds anything: an empty list or table is none."""
    return value is not None and not (isinstance(value, (tuple, Mapping)) and not value)
