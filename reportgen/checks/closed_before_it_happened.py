"""Something was decided before it happened.

A deviation cannot be closed before the day of what it is about, nor a beer released before it was
packed. Nor is it likely to be done most of a year after all else that is written. The year is the usual
slip at the turn of the year.

Fix: correct the date
Source: order of time; the most of a year: common practice, no source
Passes:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short, closed_on: 2026-04-01}]}
Fails:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short, closed_on: 2025-04-01}]}
"""

from collections.abc import Iterator

from reportgen.assessment.causes import shows_in
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.when import date_of, days_after_brewing, is_brewed_last
from reportgen.forecast.figures import FIGURES
from reportgen.record.model.batch import Record
from reportgen.record.values import Day

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR
ALSO = {Severity.NOTE: "long after all else"}
CONTRADICTS = True

LONG = 300
"""Days, near a year: common practice, no source."""


def check(batch: Assessment) -> Remarks:
    """Compare the days of closing and deciding with what they are about."""
    record = batch.record
    if record.brew_day is None or is_brewed_last(record):
        return
    after = [date_of(day) for what, day in days_after_brewing(record) if what != "the decision"]
    end = max((*after, record.brew_day.date.date))
    for decided, days in _decided(record):
        last = max(days, key=lambda day: day[1].date)
        if decided is not None and decided.date < last[1].date:
            yield Remark(
                decided.position, f"{decided} is before {last[0]} {last[1]}", f"{last[1]} or later"
            )
        elif decided is not None and (late := (decided.date - end).days) > LONG:
            yield Remark(
                decided.position, f"{decided} is {late} days after all else that is written",
                "the year of both, as on the sheets", severity=Severity.NOTE,
            )


_Days = list[tuple[str, Day]]


def _decided(record: Record) -> Iterator[tuple[Day | None, _Days]]:
    """Yield each day on which something was decided, with the days of what it is about."""
    assert record.brew_day is not None
    brewed, packed = ("the brew day", record.brew_day.date), record.packaging
    packing = [("packaging", packed.date)] if packed is not None else []
    review = record.review
    for cause in review.deviations if review is not None else ():
        paths = (FIGURES[key].path for key in shows_in(cause) if key in FIGURES)
        about = packing if any(path[:1] == ("packaging",) for path in paths) else []
        yield cause.closed_on, [brewed, *about]
    if review is not None:
        goes_out = str(review.disposition or "") in ("release", "regrade")
        yield review.decided_on, [brewed, *(packing if goes_out else [])]
