"""The yeast is in, and the cellar sheet can now have its dates.

A cellar sheet printed before the brew day has its days by number only. Once the time of pitching
is in the record, it is printed with the date of each day. Reported until the first reading of the
log.

Fix: print it again with `reportgen sheet`, or write the readings of the log
Source: order of the work
Passes:
    brew_day: {date: 2026-03-14, pitch: {at: 14:00}}
    fermentation: {log: [{at: 2026-03-15 18:00, gravity: 1.020}]}
Fails:
    brew_day: {date: 2026-03-14, pitch: {at: 14:00}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.FERMENTATION
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Remarks:
    """Look for a pitching time without any reading after it."""
    day, fermentation = batch.record.brew_day, batch.record.fermentation
    if day is None or day.pitch is None or day.pitch.at is None:
        return
    if batch.record.packaging is not None or batch.record.review is not None:
        return
    if fermentation is None or not (fermentation.log or fermentation.final_gravity):
        yield Remark(
            day.pitch.at.position,
            "the cellar sheet can now be printed with its dates",
            "a first reading of the log",
        )
