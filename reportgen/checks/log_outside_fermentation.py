"""A log entry lies before pitching or after packaging.

The fermentation log begins with the yeast and ends when the beer is packed. An entry outside has a
wrong day or time, belongs to another batch, or the day of packaging is wrong. A reading up to an hour
before the yeast goes in is taken as the first of the log.

Fix: compare the entry with the cellar sheet, and the day of packaging
Source: order of the work
Passes:
    brew_day: {date: 2026-03-14, pitch: {at: 13:50}}
    fermentation: {log: [{at: 2026-03-14 14:00, temperature: 18 C}]}
Fails:
    brew_day: {date: 2026-03-14, pitch: {at: 13:50}}
    fermentation: {log: [{at: 2026-03-14 09:00, temperature: 18 C}]}
"""

import datetime

from reportgen.assessment.log import pitched_at
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR

GRACE = datetime.timedelta(hours=1)


def check(batch: Assessment) -> Remarks:
    """Compare each entry with the moment of pitching and the day of packaging."""
    record = batch.record
    day, packed = record.brew_day, record.packed_last
    is_timed = day is not None and day.pitch is not None and day.pitch.at is not None
    pitched = pitched_at(record) if is_timed else None
    for entry in record.log:
        at = entry.at
        # An entry before the brew day is told of by dates-out-of-order.
        is_of_the_day = day is not None and day.date.date <= at.at.date()
        if is_of_the_day and pitched is not None and at.at < pitched - GRACE:
            when = pitched.strftime("%Y-%m-%d %H:%M")
            yield Remark(
                at.position, f"{at} is before the yeast was pitched, {when}", f"{when} or later"
            )
        if packed is not None and at.at.date() > packed.date:
            yield Remark(
                at.position,
                f"{at} is after the beer was packed on {packed}",
                f"{packed} or earlier",
            )
