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
MISSING = ".missing.json"
"""File in the output folder that says which batches the ledger lacks, for the next time."""


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
    missing = _read_missing(output, key)
    if missing is not None and all(is_current(output, n, key, entries) for n in entries):
        return LedgerBuilt(entries, (), missing)
    return None


def _read_missing(output: Path, key: str) -> tuple[str, ...] | None:
    try:
        data = json.loads((output / MISSING).read_text(encoding="utf-8"))
        return tuple(str(b) for b in data["batches"]) if data["key"] == key else None
    except (OSError, ValueError, TypeError, KeyError):
        return None


def write_ledger(
    output: Path,
    key: str,
    state: Mapping[str, Built],
    files: Iterable[tuple[str, bytes]],
    missing: tuple[str, ...],
    told: Callable[[str], None] = lambda name: None,
) -> LedgerBuilt:
    """Write the files of the ledger that are new or changed; those with the same bytes are left."""
    entries: dict[str, Built] = {}
    written = []
    for name, data in files:
        made = digest(data)
        entries[name] = Built(key, made)
        known = state.get(name)
        same = known is not None and known.sha256 == made
        if not (same and is_current(output, name, known.key if known else "", state)):
            write_atomic(output / name, data)
            written.append(name)
            told(name)
    note = json.dumps({"key": key, "batches": list(missing)}, ensure_ascii=False)
    write_atomic(output / MISSING, note.encode())
    return LedgerBuilt(entries, tuple(written), missing)
