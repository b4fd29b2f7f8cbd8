"""What ``blanks`` proposes of a batch: what a table of the sheet has put in, and causes to confirm.

Each is a line of the record behind a mark: the brewer takes the mark off if it is what happened.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reportgen.assessment.assess import Assessment
from reportgen.assessment.causes import NEEDED, shows_in, worst
from reportgen.assessment.departures import Departure
from reportgen.assessment.explained import Explained, explain
from reportgen.forecast.actions import ActionTable, TableNumber
from reportgen.forecast.remedies import CLOCKS, entry_of, remedy, row_for
from reportgen.record.printed import Units
from reportgen.report.sheet import tables_of_day
from reportgen.report.tables import marks_of


def remedy_lines(batch: Assessment, system: str) -> Iterator[str]:
    """Yield an entry of ``added`` for each table that a reading off plan has sent the brewer to.

    One that is written already, by the mark of its table, is not asked for again, nor one whose
    reading has its cause in the review.
    """
    written = {str(entry.because or "") for entry in batch.record.all_added}
    for mark, table, number in _called_for(batch):
        made = remedy(table, number, batch.case.boiling, batch.record, batch.stock)
        if made is None or mark in written:
            continue
        amount = _amount(made.amount.value, made.amount.kind, made.amount.decimals, system)
        warm = ""
        if made.temperature is not None:
            warm = f", temperature: {_amount(made.temperature, 'temperature', 0, system)}"
        yield (
            f"{{what: {made.what}, amount: {amount}, to: {made.to}{warm},"
            f" because: {mark}}}  # if it went in; at:"
        )


def clock_lines(batch: Assessment) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield (place, words) of each time that a row of a table moves: boiling longer, waiting.

    Until the yeast is in; then what was boiled is over, and its time is written or is not known.
    """
    pitch = batch.record.brew_day.pitch if batch.record.brew_day is not None else None
    if pitch is not None and pitch.at is not None:
        return
    for mark, table, number in _called_for(batch):
        place, row = entry_of(table, number), table.rows[number]
        if place not in CLOCKS:
            continue
        name, do = CLOCKS[place].lower(), row[1]
        what = f"{do.value:.0f} min longer" if isinstance(do, TableNumber) else str(do)
        yield place, f"{mark}: {what}; {name}, actual time"


def _called_for(batch: Assessment) -> Iterator[tuple[str, ActionTable, int]]:
    """Yield (mark, table, row) of each table that a reading off plan has sent the brewer to."""
    tables = tables_of_day(batch)
    marks = marks_of(tables)
    open_ = {d.result.figure.key for d in batch.departures if d.review is None and not d.batch}
    for table in tables:
        result = batch.find(table.figure)
        if result is None or result.actual is None or table.figure not in open_:
            continue
        value = result.actual.value
        number = row_for(table, batch.planned, value) if value is not None else None
        if number is not None:
            yield marks[table.figure], table, number


def _amount(value: float, kind: str, decimals: int, system: str) -> str:
    return Units(system).plain(value, kind, decimals).replace("°", "")


def cause_lines(batch: Assessment) -> Iterator[str]:
    """Yield the review's line for each cause that nobody has written: figures, and what it needs.

    What follows from a figure before it is proposed under the cause of that one, by the replay.
    """
    open_ = [d for d in batch.departures if d.review is None and not d.batch]
    if not open_:
        return
    explained = explain(batch)
    for cause in batch.record.deviations:
        keys = tuple(shows_in(cause))
        more = [d.result.figure.key for d in open_ if explained.root(d.result.figure.key) in keys]
        open_ = [d for d in open_ if d.result.figure.key not in more]
        more = [key for key in dict.fromkeys(more) if key not in keys]
        if more:
            what = " ".join(str(cause.what).split())
            yield f"figures: [{', '.join((*keys, *more))}]  # of: {what}"
    while open_:
        root = explained.root(open_[0].result.figure.key)
        own = [d for d in open_ if explained.root(d.result.figure.key) == root]
        open_ = [d for d in open_ if d not in own]
        yield _entry(own, root, explained)


def _entry(own: Sequence[Departure], root: str, explained: Explained) -> str:
    keys = sorted({d.result.figure.key: 0 for d in own}, key=lambda key: key != root)
    fields = "".join(f", {key}: " for key in NEEDED[worst(d.severity for d in own)])
    fact = explained.follows.get(keys[0])
    why = f"  # follows from: {fact.title}" if fact is not None else ""
    return f"- {{figures: [{', '.join(keys)}], what: {fields}}}{why}"
