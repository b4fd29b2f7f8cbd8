"""Turns a validated tree into the typed record.

Tolerant: what could not be read is left out where it is optional, so that the rest can still be
checked. What is required and unreadable makes its whole entry unreadable (None).
"""

from __future__ import annotations

import dataclasses
import typing
from typing import Any, TypeVar

from reportgen.record.describe import bare, hints, key_of
from reportgen.record.fields import About, Entry, about
from reportgen.record.finding import Position
from reportgen.record.kinds import read_quantity
from reportgen.record.units import Quantity, UnitError, parse_clock, parse_date, parse_moment
from reportgen.record.values import (
    NOT_DONE,
    Clock,
    Day,
    Initials,
    Moment,
    Reading,
    State,
    Text,
    When,
)
from reportgen.record.yamltree import Mapping, Node, Scalar, Sequence

E = TypeVar("E", bound=Entry)


@dataclasses.dataclass(frozen=True)
class _Slot:
    name: str
    key: str
    hint: Any
    said: About


_SLOTS: dict[type[Entry], tuple[_Slot, ...]] = {}


def slots(cls: type[Entry]) -> tuple[_Slot, ...]:
    """Return the fields of a model class with their resolved types; computed once a class."""
    if cls in _SLOTS:
        return _SLOTS[cls]
    found = []
    for field in dataclasses.fields(cls):
        said = about(field)
        if said is not None:
            found.append(_Slot(field.name, key_of(field), bare(hints(cls)[field.name]), said))
    _SLOTS[cls] = tuple(found)
    return _SLOTS[cls]


def bind(node: Node | None, cls: type[E], gallon: str | None = None) -> E | None:
    """Return an entry of the model read from a mapping; None if a required part is missing."""
    if not isinstance(node, Mapping):
        return None
    values: dict[str, Any] = {"position": node.position}
    for slot in slots(cls):
        child = node.get(slot.key)
        value = None if child is None else _value(child, slot.hint, slot.said, gallon)
        if value is not None:
            values[slot.name] = value
        elif slot.said.required:
            return None
    return cls(**values)


def missing_keys(node: Node, cls: type[Entry], path: str = "") -> list[tuple[str, Position]]:
    """Return each required key that a mapping, or one below it, lacks, and where it is missed."""
    if not isinstance(node, Mapping):
        return []
    found = []
    for slot in slots(cls):
        child = node.get(slot.key)
        if child is None:
            if slot.said.required:
                found.append((f"{path}{slot.key}", node.position))
        elif isinstance(slot.hint, type) and issubclass(slot.hint, Entry):
            found += missing_keys(child, slot.hint, f"{path}{slot.key}: ")
    return found


def _value(node: Node, hint: Any, said: About, gallon: str | None) -> Any:
    origin = typing.get_origin(hint)
    if origin is tuple:
        if not isinstance(node, Sequence):
            return None
        inner = typing.get_args(hint)[0]
        items = (_value(item, inner, said, gallon) for item in node.items)
        return tuple(item for item in items if item is not None)
    if origin is dict:
        if not isinstance(node, Mapping):
            return None
        inner = typing.get_args(hint)[1]
        pairs = (
            (Text(key.text, key.position), _value(value, inner, said, gallon))
            for key, value in node.entries
        )
        return {key: value for key, value in pairs if value is not None}
    if isinstance(hint, type) and issubclass(hint, Entry):
        return bind(node, hint, gallon)
    if hint is Reading:
        return _reading(node, said.kind, gallon)
    if not isinstance(node, Scalar) or (node.text == "" and node.style == ""):
        return None
    if hint == When:
        return _time(node)
    return _scalar(node, hint, said, gallon)


def _scalar(node: Scalar, hint: Any, said: About, gallon: str | None) -> Any:
    text, position = node.text, node.position
    try:
        if hint is Quantity:
            return read_quantity(text, said.kind, position, gallon)
        if hint is Day:
            return Day(parse_date(text), text, position)
        if hint is Clock:
            return Clock(parse_clock(text), text, position)
        if hint is Moment:
            return Moment(parse_moment(text), text, position)
    except UnitError:
        return None
    if said.choices and text not in said.choices:
        return None
    return Initials(text, position) if hint is Initials else Text(text, position)


_WORD = About("", "", ())


def _reading(node: Node, kind: str, gallon: str | None) -> Reading | None:
    if isinstance(node, Scalar):
        text = node.text.strip()
        if text == State.NOT_RECORDED.value:
            return Reading(State.NOT_RECORDED, position=node.position)
        if text.startswith(NOT_DONE):
            reason = text[len(NOT_DONE) :]
            return Reading(State.NOT_DONE, reason=reason, position=node.position)
        value = _quantity(node, kind, gallon)
        return None if value is None else Reading(State.READ, value, position=node.position)
    if not isinstance(node, Mapping):
        return None
    value = _quantity(node.get("read"), kind, gallon)
    if value is None:
        return None
    return Reading(
        State.READ,
        value,
        at=_time(node.get("at")),
        sample_temperature=_quantity(node.get("sample"), "temperature", gallon),
        instrument=_word(node.get("instrument")),
        by=_one(node.get("by"), Initials),
        was=_quantity(node.get("was"), kind, gallon),
        amended_by=_one(node.get("amended_by"), Initials),
        amended_on=_one(node.get("amended_on"), Day),
        because=_word(node.get("because")),
        position=value.position,
    )


def _quantity(node: Node | None, kind: str, gallon: str | None) -> Quantity | None:
    if not isinstance(node, Scalar) or node.text == "":
        return None
    try:
        return read_quantity(node.text, kind, node.position, gallon)
    except UnitError:
        return None


def _word(node: Node | None) -> Text | None:
    found = _one(node, Text)
    return found if isinstance(found, Text) else None


def _one(node: Node | None, hint: Any) -> Any:
    return _scalar(node, hint, _WORD, None) if isinstance(node, Scalar) and node.text else None


def _time(node: Node | None) -> Moment | Clock | None:
    found = _one(node, Moment) or _one(node, Clock)
    return found if isinstance(found, (Moment, Clock)) else None
