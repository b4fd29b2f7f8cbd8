"""A container came back before it went, or went before it was filled.

The days it was put on gas, left and came back say how long the beer stood warm, and whom to ask when
something is wrong with it. One that came back has gone.

Fix: correct the day that is wrong
Source: order of time
Passes:
    brew_day: {date: 2026-03-14}
    packaging:
      date: 2026-03-24
      filled: [{number: K-07, went_on: 2026-04-01, back_on: 2026-04-20}]
Fails:
    brew_day: {date: 2026-03-14}
    packaging:
      date: 2026-03-24
      filled: [{number: K-07, went_on: 2026-04-01, back_on: 2026-03-30}]
"""

import datetime
import itertools

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.later import Packaging
from reportgen.record.values import Day, Moment

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR
ALSO = {Severity.NOTE: "it came back, and when it went is not written"}
CONTRADICTS = True

BEFORE = datetime.timedelta(days=14)
"""By which some of the containers may be filled before the day that is given for packaging."""


def check(batch: Assessment) -> Remarks:
    """Compare the days of each container, and look for a number that stands there twice."""
    packed = batch.record.packaging
    first = _all_before(packed) if packed is not None else None
    if packed is not None and first is not None:
        yield Remark(
            packed.date.position,
            f"packaging on {packed.date}, and every container has an earlier day, from {first} on",
            f"{first} or earlier",
        )
    seen: set[str] = set()
    for container in packed.filled if packed is not None else ():
        assert packed is not None
        days = [
            (packed.date, "packaging"), (container.went_on, "went_on"),
            (container.back_on, "back_on"),
        ]
        known = [(day, name) for day, name in days if day is not None]
        pairs = list(itertools.pairwise(known))
        if container.on_gas_since is not None:
            pairs.append((known[0], (container.on_gas_since, "on_gas_since")))
        for (before, earlier), (after, later) in pairs:
            if after.date < before.date and (first is None or before is not packed.date):
                yield Remark(
                    after.position,
                    f"container {container.number}: `{later}` {after} is before"
                    f" `{earlier}` {before}",
                    f"{before} or later",
                )
        if container.back_on is not None and container.went_on is None:
            yield Remark(
                container.back_on.position,
                f"container {container.number} came back on {container.back_on}; when it went is not"
                " written", "`went_on`", "write `went_on`, or delete `back_on`", Severity.NOTE,
            )
        if isinstance(container.at, Moment) and container.at.at.date() < packed.date.date - BEFORE:
            yield Remark(
                container.at.position,
                f"container {container.number}: filled {container.at}, packaging on {packed.date}",
                "the day and month of both, as on the sheet", "correct the day that is wrong",
            )
        if container.number in seen:
            yield Remark(
                container.number.position,
                f"container {container.number} is filled twice in one batch",
                "each number once", "correct the number that is wrong",
            )
        seen.add(str(container.number))


def _all_before(packed: Packaging) -> Day | None:
    """Return the earliest day of containers, two at least, that all have one before packaging.

    Then it is the day of packaging that is mistyped, and not each of them.
    """
    days = [[c.on_gas_since, c.went_on, c.back_on] for c in packed.filled]
    firsts = [min((d for d in own if d is not None), key=_date, default=None) for own in days]
    written = [day for day in firsts if day is not None]
    if len(written) < 2 or any(day.date >= packed.date.date for day in written):
        return None
    return min(written, key=_date)


def _date(day: Day) -> datetime.date:
    return day.date
