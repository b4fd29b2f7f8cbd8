"""The sections of the record are not in order of time.

A beer is brewed, then fermented, packed, tasted and decided upon. A date before that of the
section above is mistyped, often in the year or by swapping day and month. So is a day of
packaging that is more than half a year after the brew day and ten times as late as planned.

Fix: compare the dates with the sheets
Source: order of the work; the tenfold: common practice, no source
Passes:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24}
Fails:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-04}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.assessment.log import in_time
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.RECORD
SEVERITY = Severity.MINOR

LONG, TIMES = 180, 10
"""Days, and times the planned length of the fermentation."""


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the dates of the sections."""
    record = batch.record
    days = [("brew day", record.brew_day.date if record.brew_day else None)]
    if record.fermentation is not None and record.fermentation.log:
        first = in_time(record)[0].at
        if days[0][1] is not None and first.at.date() < days[0][1].date:
            yield Remark(first.position, f"{first} is before the brew day", f"from {days[0][1]} on")
    if record.fermentation is not None:
        days.append(("end of fermentation", record.fermentation.finished))
    days.append(("packaging", record.packaging.date if record.packaging else None))
    days += [("tasting", session.date) for session in record.tasting]
    before = None
    for name, day in days:
        if day is None:
            continue
        if before is not None and day.date < before[1].date:
            yield Remark(
                day.position,
                f"{name} on {day}, {before[0]} on {before[1]}",
                f"{before[1]} or later",
            )
        before = (name, day)
    packed = record.packaging.date if record.packaging else None
    planned = record.plan.fermentation.time
    if record.brew_day is not None and packed is not None and planned is not None:
        took = (packed.date - record.brew_day.date.date).days
        if took > LONG and took * 1440 > TIMES * planned.value:
            yield Remark(
                packed.position,
                f"packed {took} days after brewing on {record.brew_day.date}; "
                f"the plan says {planned.text}",
                "the year of both, as on the sheets",
            )
    if record.analysis is not None and packed is not None:
        analysed = record.analysis.date
        if analysed.date < packed.date:
            yield Remark(
                analysed.position, f"analysis on {analysed}, packaging on {packed}",
                f"{packed} or later",
            )
