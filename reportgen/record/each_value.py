"""Every value of a file, however deep it lies, with what is declared of its field."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from reportgen.record.bind import slots
from reportgen.record.fields import About, Entry
from reportgen.record.units import Quantity
from reportgen.record.values import Initials, Reading


@dataclasses.dataclass(frozen=True, slots=True)
class Found:
    """One value: the key it is written at, what is declared of the field, the value itself."""

    key: str
    about: About
    value: Any

    @property
    def quantity(self) -> Quantity | None:
        """The quantity that is written here, or that was read; None if there is none."""
        value = self.value.value if isinstance(self.value, Reading) else self.value
        return value if isinstance(value, Quantity) else None


def entries_in(entry: Entry) -> Iterator[Entry]:
    """Yield a mapping and every mapping in it."""
    yield entry
    for slot in slots(type(entry)):
        for value in _several(getattr(entry, slot.name)):
            if isinstance(value, Entry):
                yield from entries_in(value)


def values_in(entry: Entry, without: Collection[str] = ()) -> Iterator[Found]:
    """Yield every value of a mapping and of those in it, in the order of the fields.

    ``without`` are keys of the mapping that are passed over.
    """
    for slot in slots(type(entry)):
        if slot.key in without:
            continue
        for value in _several(getattr(entry, slot.name)):
            if isinstance(value, Entry):
                yield from values_in(value)
            elif value is not None:
                yield Found(slot.key, slot.said, value)


def initials_in(entry: Entry) -> Iterator[Initials]:
    """Yield the initials in a mapping, those of its readings too."""
    for found in values_in(entry):
        if isinstance(found.value, Initials):
            yield found.value
        elif isinstance(found.value, Reading):
            parts = (getattr(found.value, part.name) for part in dataclasses.fields(Reading))
            yield from (part for part in parts if isinstance(part, Initials))


def _several(value: Any) -> tuple[Any, ...]:
    if isinstance(value, tuple):
        return value
    return tuple(value.values()) if isinstance(value, Mapping) else (value,)
