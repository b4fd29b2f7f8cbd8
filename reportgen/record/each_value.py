"""Every value of a file, however deep it lies, with what is declared of its field."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Any

from reportgen.record.bind import Slot, slots
from reportgen.record.fields import Entry
from reportgen.record.units import Quantity
from reportgen.record.values import Initials, Reading


def quantity_of(value: Any) -> Quantity | None:
    """Return the quantity that is written, or that was read; None for any other value."""
    value = value.value if isinstance(value, Reading) else value
    return value if isinstance(value, Quantity) else None


def entries_in(entry: Entry) -> Iterator[Entry]:
    """Yield a mapping and every mapping in it."""
    yield entry
    for slot in slots(type(entry)):
        for value in _several(getattr(entry, slot.name)):
            if isinstance(value, Entry):
                yield from entries_in(value)


def values_in(entry: Entry, without: Collection[str] = ()) -> Iterator[tuple[Slot, Any]]:
    """Yield every value of a mapping and of those in it with its field, in the order of these.

    ``without`` are keys of the mapping that are passed over.
    """
    for slot in slots(type(entry)):
        if slot.key in without:
            continue
        for value in _several(getattr(entry, slot.name)):
            if isinstance(value, Entry):
                yield from values_in(value)
            else:
                yield slot, value


def readings_in(entry: Entry) -> Iterator[Reading]:
    """Yield the readings in a mapping."""
    for _, value in values_in(entry):
        if isinstance(value, Reading):
            yield value


def initials_in(entry: Entry) -> Iterator[Initials]:
    """Yield the initials in a mapping, those of its readings too."""
    for _, value in values_in(entry):
        if isinstance(value, Initials):
            yield value
        elif isinstance(value, Reading):
            yield from (one for one in (value.by, value.amended_by) if one is not None)


def _several(value: Any) -> Iterable[Any]:
    """Return the values of a field: none, one, or those of a list or a table."""
    if value is None:
        return ()
    if isinstance(value, tuple):
        return value
    return value.values() if isinstance(value, dict) else (value,)
