"""The plain values of a record: words, dates, times and readings, each with its place."""

from __future__ import annotations

import datetime
import enum

from msgspec import Struct

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


class Placed(Struct, frozen=True, eq=False):
    """A value with its place in a file, which does not count when two are compared."""

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and self._compared() == other._compared()

    def __hash__(self) -> int:
        return hash(self._compared())

    def _compared(self) -> tuple[object, ...]:
        names = (name for name in self.__struct_fields__ if name != "position")
        return tuple(getattr(self, name) for name in names)


class Day(Placed, frozen=True, eq=False):
    """A calendar day."""

    date: datetime.date
    text: str
    position: Position | None = None

    def __str__(self) -> str:
        return self.date.isoformat()


class Clock(Placed, frozen=True, eq=False):
    """A time of the brew day, in minutes since midnight."""

    minutes: int
    text: str
    position: Position | None = None

    def __str__(self) -> str:
        return f"{self.minutes // 60:02d}:{self.minutes % 60:02d}"


class Moment(Placed, frozen=True, eq=False):
    """A day and a time, as the clock on the wall showed it."""

    at: datetime.datetime
    text: str
    position: Position | None = None

    @property
    def minutes(self) -> int:
        """Minutes since midnight, as of a clock."""
        return 60 * self.at.hour + self.at.minute

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


class Reading(Placed, frozen=True, eq=False):
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
    position: Position | None = None
