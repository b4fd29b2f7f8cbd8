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
    """Make a class of the model: a dataclass whose first docstring line is its title.

    What a frozen dataclass can do stands in :class:`Entry`, once for all of them: made for each
    class by itself, as the library does, it would take a tenth of a short command.
    """
    return dataclasses.dataclass(init=False, repr=False, eq=False, kw_only=True)(cls)


def dated(cls: type[T]) -> type[T]:
    """Mark a class of the model whose entries may change on a day: see ``record/since.py``."""
    cls.is_dated = True  # type: ignore[attr-defined]
    return cls


@model
class Entry:
    """A mapping in a file. It cannot be changed; where it stands does not count when compared."""

    position: Position | None = dataclasses.field(default=None, repr=False, compare=False)

    def __init__(self, **values: Any) -> None:
        whole = _defaults(type(self)) | values
        if len(whole) != len(dataclasses.fields(self)):
            known = {field.name for field in dataclasses.fields(self)}
            wrong = sorted(known.symmetric_difference(whole))
            raise TypeError(f"{type(self).__name__}: {', '.join(wrong)} missing or unknown")
        self.__dict__.update(whole)

    def __setattr__(self, name: str, value: Any) -> None:
        raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> None:
        raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return self._compared() == other._compared()

    def __hash__(self) -> int:
        return hash(tuple(self._compared().values()))

    def __repr__(self) -> str:
        told = ", ".join(f"{name}={value!r}" for name, value in self._compared().items())
        return f"{type(self).__qualname__}({told})"

    def _compared(self) -> dict[str, Any]:
        return {field.name: self.__dict__[field.name] for field in dataclasses.fields(self)[1:]}


_DEFAULTS: dict[type[Entry], dict[str, Any]] = {}


def _defaults(cls: type[Entry]) -> dict[str, Any]:
    """Return what the fields of a class hold that are not given. The same is given each time."""
    if cls not in _DEFAULTS:
        found = {
            field.name: field.default_factory()
            if field.default_factory is not dataclasses.MISSING else field.default
            for field in dataclasses.fields(cls)
        }  # fmt: skip
        _DEFAULTS[cls] = {k: v for k, v in found.items() if v is not dataclasses.MISSING}
    return _DEFAULTS[cls]


def about(field: dataclasses.Field[Any]) -> About | None:
    """Return what is declared of a dataclass field; None for ``position``."""
    return field.metadata.get("about")
