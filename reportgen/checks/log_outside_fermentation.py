"""A log entry lies before pitching or after packaging.

The fermentation log begins with the yeast and ends when the beer is packed. An entry outside has a
wrong day or time, or belongs to another batch. Where several lie outside, it is rather the moment of
pitching or the day of packaging that is wrong, and that is reported once. A reading up to an hour before
the yeast goes in is taken as the first of the log.

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

from reportgen.assessment.log import in_time, pitched_at
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
CONTRADICTS = True

GRACE = datetime.timedelta(hours=1)
AT_ONCE = "compare this day with the sheets, then those of the entries"


def check(batch: Assessment) -> Remarks:
    """Compare each entry with the moment of pitching and the day of packaging."""
    record = batch.record
    day, packed = record.brew_day, record.packed_last
    is_timed = day is not None and day.pitch is not None and day.pitch.at is not None
    pitched = pitched_at(record) if is_timed else None
    times = [entry.at for entry in in_time(record)]
    if day is not None and day.pitch is not None and pitched is not None:
        # An entry before the brew day is told of by dates-out-of-order.
        early = [at for at in times if day.date.date <= at.at.date() and at.at < pitched - GRACE]
        when = f"{pitched:%Y-%m-%d %H:%M}"
        if len(early) > 1 and day.pitch.at is not None:
            message = f"pitched {when}, after {len(early)} entries of the log, from {early[0]} on"
            yield Remark(day.pitch.at.position, message, f"{early[0]} or earlier", AT_ONCE)
        elif early:
            message = f"{early[0]} is before the yeast was pitched, {when}"
            yield Remark(early[0].position, message, f"{when} or later")
    late = [at for at in times if packed is not None and at.at.date() > packed.date]
    if packed is not None and len(late) > 1:
        message = f"packed on {packed}, before {len(late)} entries of the log, to {late[-1]}"
        yield Remark(packed.position, message, f"{late[-1].at.date()} or later", AT_ONCE)
    elif late:
        message = f"{late[0]} is after the beer was packed on {packed}"
        yield Remark(late[0].position, message, f"{packed} or earlier")
