"""Somebody checked their own work.

A second pair of eyes finds what the first overlooks: nobody sees their own slip. Where the same
initials stand for doing and checking, nobody has checked.

Fix: have somebody else check it, or delete `checked_by`; working alone is not a fault
Source: 21 CFR 211.188 (b) (11), performing and checking each significant step
Passes:
    brew_day: {date: 2026-03-14, typed_by: AA, checked_by: BB}
Fails:
    brew_day: {date: 2026-03-14, typed_by: AA, checked_by: AA}
"""

from collections.abc import Mapping

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.people import people_in
from reportgen.record.each_value import entries_in

GROUP = Group.RECORD
SEVERITY = Severity.MINOR

DOERS = ("by", "typed_by")
"""Fields whose work the field checked_by of the same mapping is about."""


def check(batch: Assessment) -> Remarks:
    """Compare who checked with who did it."""
    known = batch.brewery.people
    for entry in entries_in(batch.record):
        checker = getattr(entry, "checked_by", None)
        if checker is None:
            continue
        did = [by for name in DOERS if (by := getattr(entry, name, None))]
        doers = {person for by in did for person in _persons(by, known)}
        checkers = _persons(checker, known)
        if checkers and checkers <= doers:
            yield Remark(
                checker.position,
                f"`{checker}` checked what `{did[0]}` did",
                "somebody else's initials",
            )


def _persons(written: str, known: Mapping[str, str]) -> set[str]:
    """Return who is meant, by small initials; a name written out in full is that of its initials."""
    by_name = {str(name).casefold(): initials for initials, name in known.items()}
    whole = by_name.get(written.strip().casefold())
    return {person.casefold() for person in ([whole] if whole else people_in(written, known))}
