"""Every value of a record, however deep it lies: walks over all of them, and one put for another.

The fields of a file are gone through with what is declared of each; any other value, whether a
struct, an entry, a list or a table, by its named members.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Iterator
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from reportgen.record.bind import Slot, slots
from reportgen.record.fields import Entry
from reportgen.record.finding import Position
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Day, Initials, Moment, Reading

SINGLE = (str, Quantity, Clock, Day, Moment, Position)
"""Values that have none in them that may be another."""

T = TypeVar("T", bound=Struct | Entry)
Part = TypeVar("Part")


def fields_in(
    entry: Entry, without: Collection[str] = (), place: str = ""
) -> Iterator[tuple[str, Slot, Any]]:
    """Yield every value of a mapping and of those in it, in the order of their fields.

    With it come the way to it in words and what is declared of its field. ``without`` are keys of
    the mapping that are passed over, ``place`` is where it stands itself.
    """
    for slot in slots(type(entry)):
        if slot.key in without:
            continue
        for where, value in _several(getattr(entry, slot.name), slot.name.replace("_", " ")):
            where = f"{place}, {where}" if place else where
            if isinstance(value, Entry):
                yield from fields_in(value, place=where)
            else:
                yield where, slot, value


def values_in(entry: Entry, of: Any = object) -> Iterator[Any]:
    """Yield the values alone, all or those of one type."""
    for slot in slots(type(entry)):
        for value in _each(getattr(entry, slot.name)):
            if isinstance(value, Entry):
                yield from values_in(value, of)
            elif isinstance(value, of):
                yield value


def entries_in(entry: Entry) -> Iterator[Entry]:
    """Yield a mapping and every mapping in it."""
    yield entry
    for slot in slots(type(entry)):
        for value in _each(getattr(entry, slot.name)):
            if isinstance(value, Entry):
                yield from entries_in(value)


def _each(value: Any) -> Iterable[Any]:
    """Return the values of a field: none, one, those of a list or a table."""
    if value is None:
        return ()
    if isinstance(value, tuple):
        return value
    return value.values() if isinstance(value, dict) else (value,)


def _several(value: Any, name: str) -> Iterable[tuple[str, Any]]:
    """Return the values of a field, each with its place: none, one, those of a list or a table."""
    if value is None:
        return ()
    if isinstance(value, tuple):
        return ((f"{name} {number}", entry) for number, entry in enumerate(value, 1))
    if isinstance(value, dict):
        return ((f"{name} {key}", entry) for key, entry in value.items())
    return ((name, value),)


def quantity_of(value: Any) -> Quantity | None:
    """Return the quantity that is written, or that was read; None for any other value."""
    value = value.value if isinstance(value, Reading) else value
    return value if isinstance(value, Quantity) else None


def initials_in(entry: Entry) -> Iterator[Initials]:
    """Yield the initials in a mapping, those of its readings too."""
    for value in values_in(entry):
        if isinstance(value, Initials):
            yield value
        elif isinstance(value, Reading):
            yield from (
                initials for initials in (value.by, value.amended_by) if initials is not None
            )


def last_day(entry: Entry) -> datetime.date | None:
    """Return the last day that a mapping knows of; best-before dates lie ahead and do not count."""
    days = []
    for _, slot, value in fields_in(entry):
        at = (value.at, value.amended_on) if isinstance(value, Reading) else (value,)
        for day in at if slot.key != "best_before" else ():
            if isinstance(day, Day):
                days.append(day.date)
            elif isinstance(day, Moment):
                days.append(day.at.date())
    return max(days, default=None)


def member_names(thing: object) -> tuple[str, ...]:
    """Return the names of a value's members; none for a number, a text, a list or a class."""
    if isinstance(thing, Struct):
        return thing.__struct_fields__
    return tuple(thing.fields) if isinstance(thing, Entry) else ()


def with_members(thing: T, **new: Any) -> T:
    """Return a value with other members."""
    return replace(thing, **new) if isinstance(thing, Struct) else thing.with_members(**new)


def parts_in(part: Any, name: str = "", depth: int = 0) -> Iterator[tuple[str, int, Any]]:
    """Yield every value in a part of a file and the part itself, with the names it goes by.

    The name is that of the field or of the entry of a table, ``depth`` how far down it lies.
    """
    yield name, depth, part
    if isinstance(part, tuple):
        for item in part:
            yield from parts_in(item, name, depth + 1)
    elif isinstance(part, dict):
        for key, item in part.items():
            yield from parts_in(item, str(key), depth + 1)
    else:
        for member in member_names(part):
            if member != "position":
                yield from parts_in(getattr(part, member), member, depth + 1)


def with_value(part: Part, old: object, new: object) -> Part:
    """Return a part of a record in which one object stands for another; what has it not is kept."""
    if part is old:
        return new  # type: ignore[return-value]
    if part is None or isinstance(part, SINGLE):
        return part
    if isinstance(part, tuple):
        items = tuple(with_value(item, old, new) for item in part)
        is_same = all(one is other for one, other in zip(items, part, strict=True))
        return part if is_same else items  # type: ignore[return-value]
    if isinstance(part, dict):
        table = {key: with_value(item, old, new) for key, item in part.items()}
        is_same = all(table[key] is item for key, item in part.items())
        return part if is_same else table  # type: ignore[return-value]
    if isinstance(part, (Struct, Entry)):
        before = {name: getattr(part, name) for name in member_names(part)}
        after = {name: with_value(value, old, new) for name, value in before.items()}
        changed = {name: value for name, value in after.items() if value is not before[name]}
        return with_members(part, **changed) if changed else part
    return part
