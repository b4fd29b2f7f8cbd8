"""From the paths on the command line to an archive and the batches meant."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reportgen.record.load import BREWERY, Archive, Batch, find_root


class Misuse(Exception):
    """A command that cannot be carried out as written; the message says how to write it."""


def root_of(paths: Sequence[str]) -> Path:
    """Return the archive that the paths lie in. Misuse when there is none or more than one."""
    roots = set()
    for text in paths or ["."]:
        path = Path(text)
        if not path.exists():
            raise Misuse(f"{text}: no such file or folder")
        root = find_root(path if path.is_dir() else path.parent)
        if root is None:
            raise Misuse(
                f"{text}: no {BREWERY} in this folder or above it; an archive begins with one"
            )
        roots.add(root)
    if len(roots) > 1:
        listed = ", ".join(sorted(str(root) for root in roots))
        raise Misuse(f"the paths lie in different archives: {listed}")
    return roots.pop()


def wanted(archive: Archive, paths: Sequence[str]) -> list[Batch]:
    """Return the batches that the paths name: files, or all below a folder; all for no path."""
    if not paths:
        return list(archive.batches.values())
    found: dict[str, Batch] = {}
    for text in paths:
        path = Path(text).resolve()
        inside = path.relative_to(archive.root).as_posix()
        here = [
            batch
            for batch in archive.batches.values()
            if inside in (".", batch.file) or batch.file.startswith(f"{inside}/")
        ]
        if not here and inside not in archive.sources:
            raise Misuse(f"{text}: no batch record")
        found |= {batch.file: batch for batch in here}
    return list(found.values())


def files_wanted(archive: Archive, paths: Sequence[str]) -> set[str] | None:
    """Return the files (relative to the archive) that findings are wanted of; None for all."""
    if not paths:
        return None
    named = {Path(text).resolve().relative_to(archive.root).as_posix() for text in paths}
    if "." in named:
        return None
    files = set()
    for name in archive.sources:
        if any(name == one or name.startswith(f"{one}/") for one in named):
            files.add(name)
    return files | named
