"""The named members of a value, whether a struct or an entry of a record; for walks over all."""

from __future__ import annotations

from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from reportgen.record.fields import Entry

T = TypeVar("T", bound=Struct | Entry)


def member_names(thing: object) -> tuple[str, ...]:
    """Return the names of a value's members; none for a number, a text, a list or a class."""
    if isinstance(thing, Struct):
        return thing.__struct_fields__
    return tuple(thing.fields) if isinstance(thing, Entry) else ()


def with_members(thing: T, **new: Any) -> T:
    """Return a value with other members."""
    return replace(thing, **new) if isinstance(thing, Struct) else thing.with_members(**new)
