"""When something was done: a clock of the brew day as a date and time."""

from __future__ import annotations

import datetime

from reportgen.record.model.batch import Record
from reportgen.record.values import Clock, Moment, When


def moment(record: Record, at: Clock | Moment | None) -> datetime.datetime | None:
    """Return a time of the brew day, or a moment, as a date and time.

    A clock before the first one of the day is past midnight.
    """
    if isinstance(at, Moment):
        return at.at
    day = record.brew_day
    if at is None or day is None:
        return None
    then = datetime.datetime.combine(day.date.date, datetime.time()) + datetime.timedelta(
        minutes=at.minutes
    )
    first = _day_begins(record)
    return then + datetime.timedelta(days=1) if at.minutes < first else then


def may_cross_change(record: Record, start: When | None, end: When | None) -> bool:
    """Whether the clocks may have been put forward or back from one time to another.

    Where they are is not known: it is by 04:00 of a Sunday, in spring or autumn of either half of
    the earth. Source: the rules of the tz database (IANA).
    """
    at = [then for then in (moment(record, start), moment(record, end)) if then is not None]
    if len(at) < 2 or max(at).weekday() != SUNDAY or max(at).month not in (3, 4, 9, 10, 11):
        return False
    return min(at) < datetime.datetime.combine(max(at).date(), datetime.time(4))


SUNDAY = 6
"""Of the days that Python counts from Monday."""


def _day_begins(record: Record) -> int:
    """Return the minute of the day before which a clock means the morning after."""
    day = record.brew_day
    if day is None:
        return 0
    starts = [
        c.minutes
        for c in (
            day.mash.started if day.mash else None,
            *(w.at for w in day.weighed[:1]),
        )
        if c is not None
    ]
    # Two hours of grace: the scales may have been used before what is written first.
    return max(0, min(starts) - 120) if starts else 0
