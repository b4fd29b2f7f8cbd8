"""The same thing is written twice.

Two entries with the same thing, amount, place and minute are one entry that was typed twice, and so
are two of the log with the same minute and readings. What was weighed or added counts double; so do
two lines of marks by one assessor. A person is named once among those who brewed or tasted, and a
code stands on one glass of an evening.

Fix: delete one of the two, or correct its time
Source: the record itself
Passes:
    brew_day:
      date: 2026-03-14
      added:
        - {what: reservoir, amount: 2 L, to: kettle, at: 12:10}
        - {what: reservoir, amount: 2 L, to: kettle, at: 12:25}
Fails:
    brew_day:
      date: 2026-03-14
      added:
        - {what: reservoir, amount: 2 L, to: kettle, at: 12:10}
        - {what: reservoir, amount: 2 L, to: kettle, at: 12:10}
"""

from collections.abc import Iterator

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.finding import Position
from reportgen.record.values import Reading
from reportgen.store.balance import Store
from reportgen.store.takings import Glass

NAME = "written-twice"
GROUP = Group.RECORD
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for entries with the same thing, amount, place and time."""
    seen: dict[tuple[str, ...], Position | None] = {}
    for said, position in _entries(batch):
        if said in seen:
            first = seen[said]
            where = f"line {first.line}" if first is not None else "above"
            yield Remark(position, f"{' '.join(filter(None, said[1:]))} is also in {where}", "one entry")
        seen.setdefault(said, position)
    day = batch.record.brew_day
    for people in (day.brewers if day is not None else (), *(
        session.assessors for session in batch.record.tasting
    )):  # fmt: skip
        for number, one in enumerate(people):
            if one in people[:number]:
                yield Remark(
                    one.position, f"{one} is named twice in one list", "each person once",
                    "correct the initials, or delete one of the two",
                )
    for session in batch.record.tasting:
        by: dict[str, Position | None] = {}
        for marks in session.marks:
            first = by.setdefault(str(marks.by), marks.by.position)
            if first is not None and first is not marks.by.position:
                yield Remark(
                    marks.by.position, f"marks by {marks.by} are also in line {first.line}",
                    "one line of marks by each", "correct the initials, or delete one of the two",
                )  # fmt: skip


def check_store(store: Store, system: str) -> Remarks:
    """Look for a code that stands on two glasses of one evening."""
    first: dict[tuple[str, str], tuple[str, Glass]] = {}
    for batch in store.batches:
        for glass in batch.glasses:
            other, earlier = first.setdefault((glass.day, glass.code), (batch.batch, glass))
            if earlier is not glass and NAME not in batch.silenced:
                yield Remark(
                    glass.position,
                    f"code {glass.code} of {glass.day} is also on a glass of {other}",
                    "another code for each glass of an evening", "compare with the tasting sheets",
                )


def twice_weighed(batch: Assessment) -> frozenset[str]:
    """Return the items of which one weight is written twice."""
    day, seen, twice = batch.record.brew_day, set(), set()
    for entry in day.weighed if day is not None else ():
        said = (str(entry.item), _amount(entry.amount), str(entry.at))
        if entry.at is not None and said in seen:
            twice.add(str(entry.item))
        seen.add(said)
    return frozenset(twice)


def _entries(batch: Assessment) -> Iterator[tuple[tuple[str, ...], Position | None]]:
    """Yield what each entry with a time says, and where it stands."""
    record = batch.record
    for section, entry in record.added_and_taken():
        if entry.at is not None:
            place = getattr(entry, "to", None) or getattr(entry, "from_", "")
            yield (section, _amount(entry.amount), str(entry.what or ""), str(place),
                   str(entry.at)), entry.position
    for weighed in record.all_weighed:
        if weighed.at is not None:
            yield ("weighed", _amount(weighed.amount), str(weighed.item), str(weighed.at)), (
                weighed.position
            )
    for logged in record.fermentation.log if record.fermentation is not None else ():
        read = [_amount(r) for r in (logged.gravity, logged.temperature, logged.ph) if r is not None]
        if read:
            yield ("log", str(logged.at), *read), logged.position


def _amount(reading: Reading) -> str:
    return reading.value.text if reading.value is not None else ""
