"""How the record's fields are declared: once, with type, words and examples.

A class of the model lists its fields with :func:`need` and :func:`may`. The JSON Schema in
``schema/`` is written from these declarations, and the loader binds a file to them, so the two
cannot disagree.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any, TypeVar, dataclass_transform

from reportgen.record.finding import Position

T = TypeVar("T")


@dataclasses.dataclass(frozen=True)
class About:
    """What is said of one field.

    ``kind`` is the kind of quantity (see :mod:`reportgen.record.units`); ``choices`` a closed
    list of words; ``names`` the table that a name must stand in (``malts``, ``instruments``, …);
    ``pattern`` a regular expression that the text must match, with ``shape`` saying it in words;
    ``filled`` a list that holds something where it is written at all;
    ``positive`` a quantity that cannot be nought; ``whole`` a count of things that cannot be in
    parts; ``bounds`` the least and the most that such a
    quantity can be, in the base unit, where that is less than its kind can be. ``usual`` is the
    least and the most that such a value plausibly is, as written in a file, ``usual_per_litre``
    the same for a litre of the batch; a value outside is accepted, and a check asks about it.
    """

    title: str
    description: str
    examples: tuple[Any, ...]
    kind: str = ""
    choices: tuple[str, ...] = ()
    names: str = ""
    pattern: str = ""
    shape: str = ""
    required: bool = False
    positive: bool = False
    filled: bool = False
    whole: bool = False
    dated: bool = False
    bounds: tuple[float, float] | None = None
    usual: tuple[str, str] | None = None
    usual_per_litre: tuple[str, str] | None = None


def need(title: str, description: str, examples: Sequence[Any], **more: Any) -> Any:
    """Declare a field that must be there. Arguments as in :class:`About`."""
    about = About(title, description, tuple(examples), required=True, **more)
    return dataclasses.field(metadata={"about": about})


def may(
    title: str, description: str, examples: Sequence[Any], default: Any = None, **more: Any
) -> Any:
    """Declare a field that may be left out. Arguments as in :class:`About`."""
    about = About(title, description, tuple(examples), **more)
    if isinstance(default, (list, dict)):
        kept = tuple(default) if isinstance(default, list) else default
        return dataclasses.field(default_factory=lambda: kept, metadata={"about": about})
    return dataclasses.field(default=default, metadata={"about": about})


@dataclass_transform(field_specifiers=(need, may), kw_only_default=True, frozen_default=True)
def model(cls: type[T]) -> type[T]:
    """Make a class of the model: a frozen dataclass whose first docstring line is its title."""
    return dataclasses.dataclass(frozen=True, kw_only=True)(cls)


def dated(cls: type[T]) -> type[T]:
    """Mark a class of the model whose entries may change on a day: see ``record/since.py``."""
    cls.is_dated = True  # type: ignore[attr-defined]
    return cls


@model
class Entry:
    """A mapping in a file."""

    position: Position | None = dataclasses.field(default=None, repr=False, compare=False)


def about(field: dataclasses.Field[Any]) -> About | None:
    """Return what is declared of a dataclass field; None for ``position``."""
    return field.metadata.get("about")
