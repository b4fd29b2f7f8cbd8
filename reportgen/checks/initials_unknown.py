"""Initials that are not in the list of people.

Years later initials are worth only as much as the list that explains them. Every field that takes
initials is looked at, those of stock.yaml too; of the same ones in a file the first is reported. Where
two people did one thing, separate them: `RB, TM`.

Fix: add the initials to people in brewery.yaml, or correct them
Source: EU GMP chapter 4: signature list
Passes:
    brew_day: {date: 2026-03-14, brewers: [AA]}
Fails:
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7.0 kg, by: ZZ}]}
"""

from collections.abc import Mapping

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.people import people_in
from reportgen.record.each_value import initials_in
from reportgen.record.fields import Entry
from reportgen.record.finding import Position
from reportgen.record.load import Archive
from reportgen.record.suggest import did_you_mean

GROUP = Group.RECORD
SEVERITY = Severity.NOTE
OF_NAME = True

def check(batch: Assessment) -> Remarks:
    """Compare all initials in the record with the list of people."""
    yield from _unknown(batch.record, batch.brewery.people)


def check_house(archive: Archive) -> Remarks:
    """Compare the initials of the store's entries with the list of people."""
    if archive.stock is not None and archive.brewery is not None:
        yield from _unknown(archive.stock, archive.brewery.people)


def _unknown(file: Entry, people: Mapping[str, str]) -> Remarks:
    found: dict[str, list[Position | None]] = {}
    for initials in initials_in(file) if people else ():
        unknown = [person for person in people_in(initials, people) if person not in people]
        # A name written out says who it was, too.
        if not unknown or initials.strip() in people.values():
            continue
        # What is not a person or two is no list of initials: it is quoted as a whole.
        named = unknown[0] if len(unknown) == 1 else str(initials)
        found.setdefault(named, []).append(initials.position)
    for named, places in found.items():
        more = f", here and {len(places) - 1} times more" if len(places) > 1 else ""
        yield Remark(
            places[0],
            f"`{named}` is not listed under `people`{more}",
            ", ".join(people),
            did_you_mean(named, sorted(people)) or "",
        )
