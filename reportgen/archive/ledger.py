"""The ledger built: what is current stays, what has changed is made anew, what is gone goes.

One key stands for everything that the ledger is made from: all files of the archive that can
reach a page, the templates, the tool and the paper. With the same key and unchanged bytes nothing
is done.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from reportgen.archive.build import Built, digest, is_current
from reportgen.archive.workers import in_order
from reportgen.archive.write import write_atomic

PREFIXES = ("ledger/", "ledger.csv", "ledger.json")
"""Beginnings of the names of everything that belongs to the ledger."""

FIRST = "ledger/index.html"
NOTE = ".ledger.json"
"""File in the output folder with what the next build must know: the key, the batches that the
ledger lacks, and what each page and printed list was made from."""

RENEWED = 12
"""Pieces of work that a worker does before another takes its place: the layout library keeps some
memory of each list that it has set."""


@dataclass(frozen=True)
class Made:
    """A file: its name below the output folder and its bytes."""

    name: str
    data: bytes

    def make(self) -> bytes:
        """Return the bytes."""
        return self.data


@dataclass(frozen=True)
class Deferred:
    """A file that takes long to make: its name, the key of what it is made from, how it is made.

    It is made only when that key has changed, whatever else of the ledger has.
    """

    name: str
    key: str
    make: Callable[[], bytes]


Piece = Callable[[], Iterable[Made | Deferred]]
"""A piece of work that yields some files."""


@dataclass(frozen=True)
class LedgerBuilt:
    """What the ledger consists of now, which files were written, which batches it lacks."""

    entries: Mapping[str, Built]
    written: tuple[str, ...]
    missing: tuple[str, ...] = ()


def is_part(name: str) -> bool:
    """Whether an output belongs to the ledger."""
    return name.startswith(PREFIXES)


def current(output: Path, key: str, state: Mapping[str, Built]) -> LedgerBuilt | None:
    """Return the ledger as it stands when nothing has to be done, else None."""
    entries = {name: built for name, built in state.items() if is_part(name)}
    if FIRST not in entries:
        return None
    noted, missing, _ = _read_note(output)
    if noted == key and all(is_current(output, name, key, entries) for name in entries):
        return LedgerBuilt(entries, (), missing)
    return None


def _read_note(output: Path) -> tuple[str, tuple[str, ...], Mapping[str, str]]:
    """Return the key of the last ledger, the batches it lacks, the keys of its pages and lists."""
    try:
        data = json.loads((output / NOTE).read_text(encoding="utf-8"))
        made_from = {str(name): str(key) for name, key in data["made_from"].items()}
        return str(data["key"]), tuple(str(b) for b in data["missing"]), made_from
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return "", (), {}


def _stands(output: Path, name: str, state: Mapping[str, Built], sha256: str) -> bool:
    """Whether an output is known to have these bytes and has them still."""
    known = state.get(name)
    return known is not None and known.sha256 == sha256 and is_current(
        output, name, known.key, state
    )


@dataclass(frozen=True)
class _Put:
    """A file as it stands now: its digest, whether it was written, the key it was made from."""

    name: str
    sha256: str
    written: bool
    key: str = ""


def write_ledger(
    output: Path,
    key: str,
    state: Mapping[str, Built],
    work: Iterable[Sequence[Piece]],
    missing: tuple[str, ...],
) -> LedgerBuilt:
    """Write the files of the ledger that are new or changed; those with the same bytes are left.

    The cores share out the pieces of each part of the work; then come those of the next part, in
    workers of their own, so that what one part needs in memory is not added to that of another.
    """
    before = _read_note(output)[2]

    def put(name: str, data: bytes, made_from: str = "") -> _Put:
        sha256 = digest(data)
        if _stands(output, name, state, sha256):
            return _Put(name, sha256, False, made_from)
        write_atomic(output / name, data)
        return _Put(name, sha256, True, made_from)

    def put_deferred(one: Deferred) -> _Put:
        known = state.get(one.name)
        unchanged = before.get(one.name) == one.key
        if known is not None and unchanged and _stands(output, one.name, state, known.sha256):
            return _Put(one.name, known.sha256, False, one.key)
        return put(one.name, one.make(), one.key)

    def done(pieces: Sequence[Piece], number: int) -> list[_Put]:
        return [
            put(one.name, one.data) if isinstance(one, Made) else put_deferred(one)
            for one in pieces[number]()
        ]

    found: list[_Put] = []
    for pieces in work:
        for some in in_order(partial(done, pieces), range(len(pieces)), RENEWED):
            found += some
    note = {
        "key": key,
        "missing": list(missing),
        "made_from": {one.name: one.key for one in found if one.key},
    }
    write_atomic(output / NOTE, json.dumps(note, ensure_ascii=False).encode())
    return LedgerBuilt(
        {one.name: Built(key, one.sha256) for one in found},
        tuple(one.name for one in found if one.written),
        missing,
    )
