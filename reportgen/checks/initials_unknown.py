"""Initials that stand for nobody.

Years later initials are worth only as much as the list that explains them.

Mend: add them to people in brewery.yaml, or mend them
Source: EU GMP chapter 4: signature list
Passes:
    brew_day: {date: 2026-03-14, brewers: [AA]}
Fails:
    brew_day: {date: 2026-03-14, brewers: [ZZ]}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TOGETHER
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Said]:
    """Compare initials with the list of people."""
    people = batch.brewery.people
    day, review = batch.record.brew_day, batch.record.review
    if not people:
        return
    used = [batch.record.plan.written_by]
    if day is not None:
        used += [*day.brewers, day.typed_by, day.checked_by]
    if review is not None:
        used += [review.decided_by, *(d.closed_by for d in review.deviations)]
    for initials in used:
        if initials is not None and initials not in people:
            yield Said(initials.position, f"{initials} is not among people", ", ".join(people))
