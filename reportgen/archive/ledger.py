"""The ledger built: what is current stays, what has changed is made anew, what is gone goes.

One key stands for everything that the ledger is made from: all files of the archive that can
reach a page, the tool and the paper. With the same key and unchanged bytes nothing is done.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from reportgen import __version__
from reportgen.archive.build import Built, digest, is_current, key_of, tree_digest
from reportgen.archive.summaries import tool_digest
from reportgen.archive.write import write_atomic
from reportgen.record.load import BREWERY, STOCK, record_files
from reportgen.resources import templates_dir

PREFIXES = ("ledger/", "ledger.csv", "ledger.json")
"""Beginnings of the names of everything that belongs to the ledger."""

FIRST = "ledger/index.html"
NOTE = ".ledger.json"
"""File in the output folder with what the next build must know: the key, the batches that the
ledger lacks, and what each printed list was made from."""


@dataclass(frozen=True)
class Deferred:
    """A file that takes long to make: its name, the key of what it is made from, how it is made.

    It is made only when that key has changed, whatever else of the ledger has.
    """

    name: str
    key: str
    make: Callable[[], bytes]


@dataclass(frozen=True)
class LedgerBuilt:
    """What the ledger consists of now, which files were written, which batches it lacks."""

    entries: Mapping[str, Built]
    written: tuple[str, ...]
    missing: tuple[str, ...] = ()


def is_part(name: str) -> bool:
    """Whether an output belongs to the ledger."""
    return name.startswith(PREFIXES)


def ledger_key(root: Path, paper: str) -> str:
    """Return the key of the whole ledger of an archive, from the bytes on disk."""
    parts = {"version": __version__, "paper": paper, "tool": tool_digest()}
    for folder in (templates_dir(), root / "templates"):
        if folder.is_dir():
            parts[f"templates {len(parts)}"] = tree_digest(folder)
    for path in (root / BREWERY, root / STOCK, *record_files(root)):
        try:
            parts[path.relative_to(root).as_posix()] = digest(path.read_bytes())
        except OSError:
            parts[path.relative_to(root).as_posix()] = "unreadable"
    return key_of(parts)


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
    """Return the key of the last ledger, the batches it lacks, the keys of its printed lists."""
    try:
        data = json.loads((output / NOTE).read_text(encoding="utf-8"))
        lists = {str(name): str(key) for name, key in data["lists"].items()}
        return str(data["key"]), tuple(str(b) for b in data["missing"]), lists
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return "", (), {}


def _stands(output: Path, name: str, state: Mapping[str, Built], sha256: str) -> bool:
    """Whether an output is known to have these bytes and has them still."""
    known = state.get(name)
    return known is not None and known.sha256 == sha256 and is_current(
        output, name, known.key, state
    )


def write_ledger(
    output: Path,
    key: str,
    state: Mapping[str, Built],
    files: Iterable[tuple[str, bytes]],
    printed: Iterable[Deferred],
    missing: tuple[str, ...],
) -> LedgerBuilt:
    """Write the files of the ledger that are new or changed; those with the same bytes are left."""
    entries: dict[str, Built] = {}
    written = []

    def put(name: str, data: bytes) -> None:
        entries[name] = Built(key, digest(data))
        if not _stands(output, name, state, entries[name].sha256):
            write_atomic(output / name, data)
            written.append(name)

    for name, data in files:
        put(name, data)
    before = _read_note(output)[2]
    lists: dict[str, str] = {}
    for one in printed:
        known = state.get(one.name)
        unchanged = before.get(one.name) == one.key
        if known is not None and unchanged and _stands(output, one.name, state, known.sha256):
            entries[one.name] = Built(key, known.sha256)
        else:
            put(one.name, one.make())
        lists[one.name] = one.key
    note = {"key": key, "missing": list(missing), "lists": lists}
    write_atomic(output / NOTE, json.dumps(note, ensure_ascii=False).encode())
    return LedgerBuilt(entries, tuple(written), missing)
