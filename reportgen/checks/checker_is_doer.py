"""Somebody checked their own work.

A second pair of eyes finds what the first overlooks: nobody sees their own slip. Where the same
initials stand for doing and checking, nobody has checked.

Fix: have somebody else check it, or leave checked_by out; alone is no fault
Source: 21 CFR 211.188 (b) (11), performing and checking each significant step
Passes:
    brew_day: {date: 2026-03-14, typed_by: AA, checked_by: BB}
Fails:
    brew_day: {date: 2026-03-14, typed_by: AA, checked_by: AA}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.checks.people import people_in
from reportgen.record.each_value import entries_in
from reportgen.record.finding import Severity

GROUP = Group.RECORD
SEVERITY = Severity.MINOR

DOERS = ("by", "typed_by")
"""Fields whose work the field checked_by of the same mapping is about."""


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare who checked with who did it."""
    known = batch.brewery.people
    for entry in entries_in(batch.record):
        checker = getattr(entry, "checked_by", None)
        if checker is None:
            continue
        did = [getattr(entry, name, None) for name in DOERS]
        doers = {one.casefold() for by in did if by for one in people_in(by, known)}
        checkers = {one.casefold() for one in people_in(checker, known)}
        if checkers and checkers <= doers:
            yield Remark(
                checker.position,
                f"`{checker}` checked what `{checker}` did",
                "somebody else's initials",
            )
