"""Which things can be added where, in what kind of unit, and when a place holds something."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from msgspec import Struct

from reportgen.assessment.times import moment
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Added, Taken
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import TABLES, Stock, Yeast
from reportgen.record.values import Clock, Moment

PLACES = {
    "liquor": ("mash", "sparge", "kettle", "fermenter", "container"),
    "malt": ("mash",),
    "sugar": ("kettle", "fermenter", "container"),
    "hop": ("mash", "kettle", "fermenter", "container"),
    "yeast": ("fermenter", "container"),
    "salt": ("mash", "sparge", "kettle", "fermenter"),
    "acid": ("mash", "sparge", "kettle", "fermenter"),
    "fining": ("kettle", "fermenter", "container"),
}
"""The places where each kind of thing makes sense (common practice, no source)."""

UNITS = {
    "liquor": ("volume",), "malt": ("mass",), "sugar": ("mass",), "hop": ("mass",),
    "yeast": ("mass", "volume"), "salt": ("mass",), "acid": ("volume", "mass"),
    "fining": ("mass", "volume"),
}  # fmt: skip
"""The kinds of unit that each kind of thing is measured in."""


class DayEntry(Struct, frozen=True):
    """One entry of what was added or taken out, with the section that it stands in."""

    section: str
    entry: Added | Taken

    @property
    def place(self) -> str:
        """The vessel it went into, or came out of."""
        return str(self.entry.to if isinstance(self.entry, Added) else self.entry.from_)


def entries_of(record: Record) -> Iterator[DayEntry]:
    """Return every entry of a record in the order written."""
    for section, entry in record.added_and_taken():
        yield DayEntry(section, entry)


def thing(name: str, brewery: Brewery, stock: Stock) -> str:
    """Return what kind of thing a name is: liquor, malt, hop, …; empty for an unknown name."""
    if table := stock.table_of(name):
        return TABLES[table]
    return "liquor" if name in brewery.liquors else ""


SOURED = 4.5
"""Below this pH wort has been soured: that of other wort is 4.8 to 5.6."""


def is_meant_sour(record: Record, stock: Stock) -> bool:
    """Whether a beer is meant to be sour: its wort was soured, or one of its yeasts sours."""
    day = record.brew_day
    wort = day.pitch.wort_ph if day is not None and day.pitch is not None else None
    if wort is not None and wort.value is not None and wort.value.value < SOURED:
        return True
    return any(str(yeast.sours or "") == "yes" for yeast in yeasts_in(record, stock))


def yeasts_in(record: Record, stock: Stock) -> list[Yeast]:
    """Return every yeast or culture that went into a batch: the pitched one first."""
    into = (e.what for e in record.all_added if str(e.to) != "container")
    names = dict.fromkeys(str(name) for name in (record.plan.pitch.yeast, *into))
    return [stock.yeasts[name] for name in names if name in stock.yeasts]


def can_be_in(kind: str, entry: Added, stock: Stock) -> bool:
    """Whether a thing of a kind makes sense at the place of an entry.

    Wort is soured in the kettle by a culture that sours.
    """
    place = str(entry.to)
    if kind == "yeast" and place == "kettle":
        return str(stock.yeasts[entry.what].sours or "") == "yes"
    return place in PLACES[kind]


def span(place: str, record: Record) -> tuple[datetime.datetime | None, datetime.datetime | None]:
    """Return from when to when a place holds something, as far as the record says; None is open."""
    day = record.brew_day
    if day is None:
        return None, None
    begin = datetime.datetime.combine(day.date.date, datetime.time())
    packed, last = None, record.packed_last
    if last is not None:
        packed = datetime.datetime.combine(
            last.date, datetime.time()
        ) + datetime.timedelta(days=1)
    boiled = moment(record, day.boil.started if day.boil else None)
    pitched = moment(record, day.pitch.at if day.pitch else None)
    ended = moment(record, day.boil.ended if day.boil else None)
    return {
        "mash": (begin, boiled),
        "sparge": (begin, boiled),
        "kettle": (begin, pitched),
        "fermenter": (ended, packed),
        "container": (ended, None),
    }[place]


def when(entry: DayEntry, record: Record) -> datetime.datetime | None:
    """Return the time of an entry; None for none, or for a clock whose day is not known."""
    at = entry.entry.at
    if isinstance(at, Clock) and entry.section != "brew_day":
        if entry.section == "packaging" and record.packaging is not None:
            clock = datetime.time(at.minutes // 60, at.minutes % 60)
            return datetime.datetime.combine(record.packaging.date.date, clock)
        return None
    return moment(record, at)


def in_time(entry: DayEntry, record: Record) -> bool:
    """Whether the place of an entry held something at its time; so too where none is written."""
    return _held(entry.place, when(entry, record), record)


def span_of_boil(record: Record) -> tuple[datetime.datetime | None, datetime.datetime | None]:
    """Return from when to when hops or sugar can lie in the kettle: not before there is a mash."""
    begin, end = span("kettle", record)
    day = record.brew_day
    mashed = moment(record, day.mash.started if day is not None and day.mash else None)
    return mashed or begin, end


def in_kettle(at: Clock | Moment | None, record: Record) -> bool:
    """Whether hops or sugar can have gone into the kettle at a time; so too where none is written.
    """
    return _is_within(moment(record, at), span_of_boil(record))


def _held(place: str, mine: datetime.datetime | None, record: Record) -> bool:
    return _is_within(mine, span(place, record))


def _is_within(
    mine: datetime.datetime | None,
    times: tuple[datetime.datetime | None, datetime.datetime | None],
) -> bool:
    begin, end = times
    if mine is None:
        return True
    return (begin is None or mine >= begin) and (end is None or mine <= end)
