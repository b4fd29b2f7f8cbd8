"""A deviation was closed before the brew day.

The day of closing cannot be before the batch was brewed. The year is the usual slip at the turn of
the year.

Fix: correct the date
Source: order of time
Passes:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short, closed_on: 2026-04-01}]}
Fails:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short, closed_on: 2025-04-01}]}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.when import is_brewed_last

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Compare the days of closing with the brew day."""
    day, review = batch.record.brew_day, batch.record.review
    if day is None or review is None or is_brewed_last(batch.record):
        return
    days = [deviation.closed_on for deviation in review.deviations] + [review.decided_on]
    for closed in days:
        if closed is not None and closed.date < day.date.date:
            yield Remark(
                closed.position,
                f"{closed} is before the brew day {day.date}",
                f"{day.date} or later",
            )
