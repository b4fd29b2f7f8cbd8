"""A container came back before it went, or went before it was filled.

The days it was put on gas, left and came back say how long the beer stood warm, and whom to ask when
something is wrong with it.

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
from reportgen.record.values import Moment

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR

BEFORE = datetime.timedelta(days=14)
"""By which some of the containers may be filled before the day that is given for packaging."""


def check(batch: Assessment) -> Remarks:
    """Compare the days of each container, and look for a number that stands there twice."""
    packed = batch.record.packaging
    seen: set[str] = set()
    for one in packed.filled if packed is not None else ():
        assert packed is not None
        days = [(packed.date, "packaging"), (one.went_on, "went_on"), (one.back_on, "back_on")]
        known = [(day, name) for day, name in days if day is not None]
        pairs = list(itertools.pairwise(known))
        if one.on_gas_since is not None:
            pairs.append((known[0], (one.on_gas_since, "on_gas_since")))
        for (before, earlier), (after, later) in pairs:
            if after.date < before.date:
                yield Remark(
                    after.position,
                    f"container {one.number}: `{later}` {after} is before `{earlier}` {before}",
                    f"{before} or later",
                )
        if isinstance(one.at, Moment) and one.at.at.date() < packed.date.date - BEFORE:
            yield Remark(
                one.at.position, f"container {one.number}: filled {one.at}, packaging on {packed.date}",
                "the day and month of both, as on the sheet", "correct the day that is wrong",
            )
        if one.number in seen:
            yield Remark(
                one.number.position, f"container {one.number} is filled twice in one batch",
                "each number once", "correct the number that is wrong",
            )
        seen.add(str(one.number))
