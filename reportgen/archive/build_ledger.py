"""The ledger built: what is current stays, what has changed is made anew, what is gone goes.

One key stands for everything that the ledger is made from: all files of the archive that can
reach a page, the templates, the tool and the paper. With the same key and unchanged bytes nothing
is done.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import asdict, replace

from reportgen.archive.build import Built, digest, is_current, is_whole
from reportgen.archive.workers import in_order
from reportgen.archive.write import write_atomic

PREFIXES = ("ledger/", "ledger.csv", "ledger.json")
"""Beginnings of the names of everything that belongs to the ledger."""

FIRST = "ledger/index.html"
NOTE = ".ledger.json"
"""File in the output folder with a :class:`LedgerNote`."""

RENEWED = 12
"""Pieces of work that a worker does before another takes its place: the layout library keeps some
memory of each list that it has set."""


class Made(Struct, frozen=True):
    """A file: its name below the output folder and its bytes."""

    name: str
    data: bytes

    def make(self) -> bytes:
        """Return the bytes."""
        return self.data


class Deferred(Struct, frozen=True):
    """A file that takes long to make: its name, the key of what it is made from, how it is made.

    It is made only when that key has changed, whatever else of the ledger has.
    """

    name: str
    key: str
    make: Callable[[], bytes]


Piece = Callable[[], Iterable[Made | Deferred]]
"""A piece of work that yields some files."""


class LedgerBuilt(Struct, frozen=True):
    """What the ledger consists of now, which files were written, the files that it lacks."""

    entries: Mapping[str, Built]
    written: tuple[str, ...]
    missing: tuple[str, ...] = ()
    in_part: tuple[str, ...] = ()
    """Files that have an error, so that a value of theirs is missing in it."""


def is_part(name: str) -> bool:
    """Whether an output belongs to the ledger."""
    return name.startswith(PREFIXES)


def current(output: Path, key: str, state: Mapping[str, Built]) -> LedgerBuilt | None:
    """Return the ledger as it stands when nothing has to be done, else None."""
    noted = _read_note(output)
    entries = {name: built for name, built in state.items() if is_part(name)}
    if FIRST in entries and noted.key == key and all(
        is_current(output, name, key, entries) for name in entries
    ):
        return LedgerBuilt(entries, (), noted.missing, noted.in_part)
    return None


def unchanged(
    output: Path, key: str, says: str, state: Mapping[str, Built]
) -> LedgerBuilt | None:
    """Return the ledger as it stands when files have changed and nothing that it says, else None.

    ``says`` is the key of all that it says; ``key`` that of the files as they are now, which is
    noted, so that the next time nothing is even looked at.
    """
    noted = _read_note(output)
    entries = {name: built for name, built in state.items() if is_part(name)}
    if FIRST in entries and noted.says == says and all(
        is_whole(output, name, built) for name, built in entries.items()
    ):
        _write_note(output, replace(noted, key=key))
        new = {name: replace(built, key=key) for name, built in entries.items()}
        return LedgerBuilt(new, (), noted.missing, noted.in_part)
    return None


class LedgerNote(Struct, frozen=True):
    """What the next build must know of this one.

    The key of the files it was made from and of what it says, the files it lacks or has
    only in part, and what each page and list was made from.
    """

    key: str = ""
    says: str = ""
    missing: tuple[str, ...] = ()
    in_part: tuple[str, ...] = ()
    made_from: Mapping[str, str] = field(default_factory=dict)


def _read_note(output: Path) -> LedgerNote:
    try:
        data = json.loads((output / NOTE).read_text(encoding="utf-8"))
        made_from = {str(name): str(key) for name, key in data["made_from"].items()}
        missing, in_part = (tuple(map(str, data[part])) for part in ("missing", "in_part"))
        return LedgerNote(str(data["key"]), str(data["says"]), missing, in_part, made_from)
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return LedgerNote()


def _write_note(output: Path, note: LedgerNote) -> None:
    """Write the note for the next build."""
    write_atomic(
        output / NOTE, json.dumps(asdict(note), ensure_ascii=False).encode()
    )


def _stands(output: Path, name: str, state: Mapping[str, Built], sha256: str) -> bool:
    """Whether an output is known to have these bytes and has them still."""
    known = state.get(name)
    return known is not None and known.sha256 == sha256 and is_current(
        output, name, known.key, state
    )


class _Put(Struct, frozen=True):
    """A file as it stands now: its digest, whether it was written, the key it was made from."""

    name: str
    sha256: str
    written: bool
    key: str = ""


def write_ledger(
    output: Path,
    key: str,
    says: str,
    state: Mapping[str, Built],
    work: Iterable[Sequence[Piece]],
    missing: tuple[str, ...],
    in_part: tuple[str, ...],
) -> LedgerBuilt:
    """Write the files of the ledger that are new or changed; those with the same bytes are left.

    The cores share out the pieces of each part of the work; then come those of the next part, in
    workers of their own, so that what one part needs in memory is not added to that of another.
    """
    before = _read_note(output).made_from

    def put(name: str, data: bytes, made_from: str = "") -> _Put:
        sha256 = digest(data)
        if _stands(output, name, state, sha256):
            return _Put(name, sha256, False, made_from)
        write_atomic(output / name, data)
        return _Put(name, sha256, True, made_from)

    def put_deferred(deferred: Deferred) -> _Put:
        known = state.get(deferred.name)
        unchanged = before.get(deferred.name) == deferred.key
        if known is not None and unchanged and _stands(output, deferred.name, state, known.sha256):
            return _Put(deferred.name, known.sha256, False, deferred.key)
        return put(deferred.name, deferred.make(), deferred.key)

    def done(pieces: Sequence[Piece], number: int) -> list[_Put]:
        return [
            put(output.name, output.data) if isinstance(output, Made) else put_deferred(output)
            for output in pieces[number]()
        ]

    outputs: list[_Put] = []
    for pieces in work:
        for some in in_order(partial(done, pieces), range(len(pieces)), RENEWED):
            outputs += some
    made_from = {made.name: made.key for made in outputs if made.key}
    _write_note(output, LedgerNote(key, says, missing, in_part, made_from))
    return LedgerBuilt(
        {made.name: Built(key, made.sha256) for made in outputs},
        tuple(made.name for made in outputs if made.written),
        missing,
        in_part,
    )
