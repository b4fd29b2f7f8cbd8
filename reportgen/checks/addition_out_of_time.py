"""Something was added or taken out when its place held nothing.

The mash is gone once the boil has started, the kettle is empty once the yeast is pitched, the
fermenter once the beer is packed. An entry outside these times is a slip in the time or the place, and
is not counted.
During fermentation a clock alone does not say which day.

Fix: correct `at`, or the place
Source: the record against itself
Passes:
    brew_day:
      date: 2026-03-14
      boil: {started: 12:00, ended: 13:00}
      added: [{what: reservoir, amount: 2 L, to: kettle, at: 12:30}]
Fails:
    brew_day:
      date: 2026-03-14
      boil: {started: 12:00, ended: 13:00}
      added: [{what: reservoir, amount: 2 L, to: mash, at: 12:30}]
"""

import datetime

from reportgen.assessment.additions import entries_of, span, span_of_boil, when
from reportgen.assessment.times import moment
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.values import Clock, Moment

GROUP = Group.RECORD
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Remarks:
    """Compare the time of each entry with the times between which its place is full."""
    for weighed in batch.record.all_weighed:
        if weighed.added_at is not None:
            went_in = moment(batch.record, weighed.added_at)
            times = span_of_boil(batch.record)
            yield from _outside("kettle", weighed.added_at, went_in, times)
    for addition in entries_of(batch.record):
        at = addition.entry.at
        if at is None:
            continue
        if isinstance(at, Clock) and addition.section == "fermentation":
            yield Remark(
                at.position,
                f"{at} does not say on which day",
                "a day and a time, e.g. 2026-03-17 18:00",
                "write the day before the time",
            )
            continue
        times = span(addition.place, batch.record)
        yield from _outside(addition.place, at, when(addition, batch.record), times)


def _outside(
    place: str,
    at: Clock | Moment,
    mine: datetime.datetime | None,
    times: tuple[datetime.datetime | None, datetime.datetime | None],
) -> Remarks:
    begin, end = times
    if mine is None:
        return
    if begin is not None and mine < begin:
        yield Remark(
            at.position,
            f"at {at} there was nothing in the {place} yet",
            f"after {begin:%Y-%m-%d %H:%M}",
        )
    elif end is not None and mine > end:
        yield Remark(
            at.position,
            f"at {at} the {place} was empty",
            f"before {end:%Y-%m-%d %H:%M}",
        )
