"""The date of a document: the last day that the record itself knows of, never that of a clock."""

from __future__ import annotations

import datetime

from reportgen.record.members import member_names
from reportgen.record.values import Day, Moment

AHEAD = ("best_before",)
"""Dates that lie ahead of the record rather than behind it."""

EPOCH = datetime.date(2000, 1, 1)
"""Date of a document whose record has no date at all."""


def date_of(part: object) -> datetime.date:
    """Return the last day that a record, or a part of it, itself knows of; it dates the document.

    The clock never does, so that the same record gives the same bytes on any day.
    """
    days: list[datetime.date] = []
    stack: list[object] = [part]
    while stack:
        value = stack.pop()
        if isinstance(value, Day):
            days.append(value.date)
        elif isinstance(value, Moment):
            days.append(value.at.date())
        elif isinstance(value, tuple):
            stack.extend(value)
        else:
            names = (name for name in member_names(value) if name not in AHEAD)
            stack.extend(getattr(value, name) for name in names)
    return max(days, default=EPOCH)
