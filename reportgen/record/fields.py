"""How the record's fields are declared: once, with type, words and examples.

A class of the model lists its fields with :func:`need` and :func:`may`. The JSON Schema in
``schema/`` is written from these declarations, and the loader binds a file to them, so the two
cannot disagree.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, Self, TypeVar, dataclass_transform

from msgspec import UNSET, Struct
from msgspec.structs import replace

from reportgen.record.finding import Position

T = TypeVar("T")
E = TypeVar("E", bound="Entry")


class About(Struct, frozen=True):
    """What is said of one field.

    ``kind`` is the kind of quantity (see :mod:`reportgen.record.units`); ``choices`` a closed
    list of words; ``names`` the table that a name must stand in (``malts``, ``instruments``, …);
    ``pattern`` a regular expression that the text must match, with ``shape`` saying it in words;
    ``words`` a text that tells of its entry, which is there without it too;
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
    words: bool = False
    whole: bool = False
    dated: bool = False
    bounds: tuple[float, float] | None = None
    usual: tuple[str, str] | None = None
    usual_per_litre: tuple[str, str] | None = None


class Field(Struct, frozen=True):
    """A field of a class of the model: its name in Python, what is said of it, what it holds where
    it is not given; ``UNSET`` where it must be."""

    about: About
    default: Any = UNSET
    name: str = ""

    @property
    def key(self) -> str:
        """The key in a file: ``is_`` in Python is ``is`` in YAML."""
        return self.name.rstrip("_")


def need(title: str, description: str, examples: Sequence[Any], **more: Any) -> Any:
    """Declare a field that must be there. Arguments as in :class:`About`."""
    return Field(About(title, description, tuple(examples), required=True, **more))


def may(
    title: str, description: str, examples: Sequence[Any], default: Any = None, **more: Any
) -> Any:
    """Declare a field that may be left out. Arguments as in :class:`About`."""
    kept = tuple(default) if isinstance(default, list) else default
    return Field(About(title, description, tuple(examples), **more), kept)


@dataclass_transform(field_specifiers=(need, may), kw_only_default=True, frozen_default=True)
def model(cls: type[E]) -> type[E]:
    """Make a class of the model of an :class:`Entry` that declares its fields.

    What a data class can do stands in :class:`Entry`, once for all of them: made for each class by
    itself, as the standard library does, it would take a tenth of a short command.
    """
    own = {name: value for name, value in vars(cls).items() if isinstance(value, Field)}
    for name in own:
        delattr(cls, name)
    cls.fields = {**cls.fields, **{n: replace(field, name=n) for n, field in own.items()}}
    cls.defaults = {n: f.default for n, f in cls.fields.items() if f.default is not UNSET}
    return cls


def dated(cls: type[T]) -> type[T]:
    """Mark a class of the model whose entries may change on a day: see ``record/since.py``."""
    cls.is_dated = True  # type: ignore[attr-defined]
    return cls


class Entry:
    """A mapping in a file. It cannot be changed; where it stands does not count when compared."""

    fields: ClassVar[Mapping[str, Field]] = {}
    """The fields of the class by their names, without ``position``."""
    defaults: ClassVar[Mapping[str, Any]] = {}

    position: Position | None

    def __init__(self, *, position: Position | None = None, **values: Any) -> None:
        whole = {**self.defaults, **values}
        if len(whole) != len(self.fields):
            wrong = sorted(self.fields.keys() ^ whole.keys())
            raise TypeError(f"{type(self).__name__}: {', '.join(wrong)} missing or unknown")
        self.__dict__.update(whole, position=position)

    def with_members(self, **new: Any) -> Self:
        """Return an entry with other values of some of its fields."""
        return type(self)(**{**self.__dict__, **new})

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"cannot assign to field {name!r}")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"cannot delete field {name!r}")

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
        return {name: self.__dict__[name] for name in self.fields}
