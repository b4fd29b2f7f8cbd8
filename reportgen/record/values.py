"""The plain values of a record: words, dates, times and readings, each with its place."""

from __future__ import annotations

import datetime
import enum
from dataclasses import dataclass, field

from reportgen.record.finding import Position
from reportgen.record.units import Quantity


class Text(str):
    """A word or a text as written, that knows its place in the file."""

    __slots__ = ("position",)
    position: Position | None

    def __new__(cls, text: str, position: Position | None = None) -> Text:
        word = super().__new__(cls, text)
        word.position = position
        return word


class Initials(Text):
    """Initials of a person. A field of this type is checked against the people of brewery.yaml."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Day:
    """A calendar day."""

    date: datetime.date
    text: str
    position: Position | None = field(default=None, compare=False)

    def __str__(self) -> str:
        return self.date.isoformat()


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of the brew day, in minutes since midnight."""

    minutes: int
    text: str
    position: Position | None = field(default=None, compare=False)

    def __str__(self) -> str:
        return f"{self.minutes // 60:02d}:{self.minutes % 60:02d}"


@dataclass(frozen=True, slots=True)
class Moment:
    """A day and a time, as the clock on the wall showed it."""

    at: datetime.datetime
    text: str
    position: Position | None = field(default=None, compare=False)

    def __str__(self) -> str:
        return self.at.strftime("%Y-%m-%d %H:%M")


When = Moment | Clock
"""A time of the day its section is about, or a day and a time."""


class State(enum.Enum):
    """Whether there is a value, and if not, why not."""

    READ = "read"
    NOT_RECORDED = "NOT RECORDED"
    NOT_DONE = "not done"


NOT_RECORDED = "NOT RECORDED"
NOT_DONE = "not done because "


@dataclass(frozen=True, slots=True)
class Reading:
    """One value as read, or the statement that there is none.

    ``value`` is None unless ``state`` is READ. ``again`` is a second reading, whose mean with the
    first counts. ``was`` is the value that stood there before a correction; ``amended_by``,
    ``amended_on`` and ``because`` say who changed it, when, why.
    """

    state: State
    value: Quantity | None = None
    reason: str = ""
    at: Moment | Clock | None = None
    sample_temperature: Quantity | None = None
    again: Quantity | None = None
    instrument: Text | None = None
    by: Initials | None = None
    was: Quantity | None = None
    amended_by: Initials | None = None
    amended_on: Day | None = None
    because: Text | None = None
    position: Position | None = field(default=None, compare=False)
