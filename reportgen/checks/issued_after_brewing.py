"""The sheet was not printed shortly before the brew day.

A sheet is printed before the beer is brewed by it. A later day is mistyped, or it is the day of
another print, whose plan may be another one. So, mostly, is a day some ten months before: the year
is that of the last winter. A figure of the brewery that changed since then would not count.

Fix: write the day of the sheet that was brewed by
Source: order of the work
Passes:
    issued: {plan: 3f9a12bc, on: 2026-03-13}
    brew_day: {date: 2026-03-14}
Fails:
    issued: {plan: 3f9a12bc, on: 2026-03-15}
    brew_day: {date: 2026-03-14}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.RECORD
SEVERITY = Severity.MINOR
CONTRADICTS = True

LONG = 300
"""Days from the print to the brew day above which it is more likely a slip of the year."""


def check(batch: Assessment) -> Remarks:
    """Compare the day of printing with the brew day."""
    issued, day = batch.record.issued, batch.record.brew_day
    if issued is None or issued.on is None or day is None:
        return
    if issued.on.date > day.date.date:
        yield Remark(
            issued.on.position,
            f"printed on {issued.on}, brewed on {day.date}",
            f"{day.date} or earlier",
        )
    elif (day.date.date - issued.on.date).days > LONG:
        yield Remark(
            issued.on.position,
            f"printed on {issued.on}, brewed on {day.date}: the year may be mistyped",
            f"a day in the {LONG} days before",
        )
