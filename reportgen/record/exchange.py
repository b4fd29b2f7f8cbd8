"""A record in which one value is another: what it would be without a slip."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from msgspec import Struct

from reportgen.record.fields import Entry
from reportgen.record.members import member_names, with_members

Part = TypeVar("Part")


def with_value(part: Part, old: object, new: object) -> Part:
    """Return a part of a record in which one object stands for another; what has it not is kept."""
    if part is old:
        return new  # type: ignore[return-value]
    if isinstance(part, tuple):
        items = tuple(with_value(item, old, new) for item in part)
        is_same = all(one is other for one, other in zip(items, part, strict=True))
        return part if is_same else items  # type: ignore[return-value]
    if isinstance(part, Mapping):
        table = {key: with_value(item, old, new) for key, item in part.items()}
        is_same = all(table[key] is item for key, item in part.items())
        return part if is_same else table  # type: ignore[return-value]
    if isinstance(part, (Struct, Entry)):
        before = {name: getattr(part, name) for name in member_names(part)}
        after = {name: with_value(value, old, new) for name, value in before.items()}
        changed = {name: value for name, value in after.items() if value is not before[name]}
        return with_members(part, **changed) if changed else part
    return part
