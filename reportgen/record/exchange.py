"""A record in which one value is another: what it would be without a slip."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TypeVar

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
    if dataclasses.is_dataclass(part) and not isinstance(part, type):
        changed = {}
        for field in dataclasses.fields(part):
            before = getattr(part, field.name)
            after = with_value(before, old, new)
            if after is not before:
                changed[field.name] = after
        return dataclasses.replace(part, **changed) if changed else part
    return part
