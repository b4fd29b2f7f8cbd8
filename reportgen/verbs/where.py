"""From the paths on the command line to an archive and the batches meant."""

from __future__ import annotations

import argparse
import os
import re
import shlex
import sys
from collections.abc import Collection, Iterable, Sequence
from pathlib import Path
from typing import Protocol

from reportgen.loading import load_archive
from reportgen.record.failure import Misuse, Refused
from reportgen.record.finding import Finding, in_error, visible
from reportgen.record.listing import BREWERY, STOCK, find_root, lies_in, record_names, right_name
from reportgen.record.load import Archive, Batch
from reportgen.record.source import LIMIT


class HouseFiles(Protocol):
    """The two files of the house, None for one that cannot be read."""

    @property
    def brewery(self) -> object: ...  # noqa: D102

    @property
    def stock(self) -> object: ...  # noqa: D102

    @property
    def findings(self) -> Collection[Finding]: ...  # noqa: D102


STDIN = "-"
"""The path that stands for a record on standard input."""


def root_of(paths: Sequence[str]) -> Path:
    """Return the archive that the paths lie in. Misuse when there is none or more than one."""
    roots = set()
    for text in paths or ["."]:
        path = Path(text)
        if not path.exists():
            raise Misuse(f"{text}: no such file or folder")
        root = find_root(path if path.is_dir() else path.parent)
        if root is None:
            raise Misuse(_no_archive(text, path))
        roots.add(root)
    if len(roots) > 1:
        listed = ", ".join(sorted(str(root) for root in roots))
        raise Misuse(f"the paths lie in different archives: {listed}")
    return roots.pop()


def root_named(arguments: argparse.Namespace) -> Path:
    """Return the archive of the option ``--archive``, else the current one."""
    return root_of([arguments.archive] if arguments.archive else [])


NEAR = 3
"""Levels of folders below that are looked through for an archive."""


def _no_archive(text: str, path: Path) -> str:
    """Say that there is no archive, and where one is: below here, or elsewhere in the repository.
    """
    start = (path if path.is_dir() else path.parent).resolve()
    top = next((f for f in (start, *start.parents) if (f / ".git").exists()), start)
    archives = archives_below(start) or archives_below(top)
    said = f"{text}: no {BREWERY} in this folder or above it"
    if not archives:
        return f"{said}; {_way_to_a_root(path)}"
    near = [os.path.relpath(folder, start) for folder in archives]
    if len(near) == 1:
        return f"{said}; the archive is {near[0]}/; fix: `cd {shlex.quote(near[0])}` first"
    return f"{said}; there are archives in {', '.join(near)}; fix: `cd` into one of them first"


def archives_below(top: Path) -> list[Path]:
    """Return the folders below one that hold an archive, a few levels deep, the first five."""
    archives: list[Path] = []
    for folder, folders, files in os.walk(top):
        here = Path(folder)
        depth = len(here.relative_to(top).parts)
        folders[:] = sorted(n for n in folders if not n.startswith(".")) if depth < NEAR else []
        # A repository of anything may lie here; it is not searched for long.
        folders[:] = folders[:200]
        if BREWERY in files and (here / BREWERY).is_file():
            archives.append(here)
            folders[:] = []
        if len(archives) == 5:
            break
    return archives


def _way_to_a_root(path: Path) -> str:
    """Say how a folder becomes an archive: its file has another name, or there is none yet."""
    folder = path if path.is_dir() else path.parent
    for name in sorted(os.listdir(folder)):
        if (right_name(name) or name).lower() in (BREWERY, "brewery.yml"):
            return f"rename {name} to {BREWERY}"
    if (folder / STOCK).exists():
        return f"bring it back, as with `git checkout -- {BREWERY}`"
    return "make one with `reportgen start FOLDER`"


def wanted(archive: Archive, paths: Sequence[str]) -> list[Batch]:
    """Return the batches that the paths name: files, or all below a folder; all for no path."""
    if not paths:
        return list(archive.batches.values())
    batches: dict[str, Batch] = {}
    for text in paths:
        inside = name_below(archive.root, text)
        here = [
            batch
            for batch in archive.batches.values()
            if inside in (".", batch.file) or batch.file.startswith(f"{inside}/")
        ]
        if not here and inside not in records_named(archive.root, []):
            right = right_name(Path(text).name)
            raise Misuse(f"{text}: no batch record{f'; rename it to {right}' if right else ''}")
        batches |= {batch.file: batch for batch in here}
    return list(batches.values())


def unread(archive: Archive, paths: Sequence[str]) -> list[str]:
    """Return the record files that the paths name and that give no batch, for faults in them."""
    batches = {batch.file for batch in archive.batches.values()}
    return [name for name in records_named(archive.root, paths) if name not in batches]


def one_batch(
    archive: Archive, paths: Sequence[str], what: str
) -> tuple[Batch | None, str]:
    """Return the one batch that the paths name, None for a file that gives none, and its file.

    Misuse where they name more, or none: ``what`` takes one.
    """
    batches, faulty = wanted(archive, paths), unread(archive, paths)
    if len(batches) + len(faulty) != 1:
        raise Misuse(f"{what} takes the file of one batch")
    return (batches[0], batches[0].file) if batches else (None, faulty[0])


class Unread(Refused):
    """Files that cannot be read: those of the house, else the one that was meant."""

    code = 1

    def __init__(self, house: HouseFiles, file: str = "", where: str = "") -> None:
        read = ((BREWERY, house.brewery), (STOCK, house.stock))
        files = [name for name, bound in read if bound is None]
        wrong = in_error(house.findings)
        if not files and file not in wrong:
            # The record is sound: its kit or its malts are not.
            files = [name for name in (BREWERY, STOCK) if name in wrong]
        files = files or [file]
        named = visible(" and ".join(files))
        super().__init__(f"{named}: cannot be read{where}; run reportgen check")


def say_unread(house: HouseFiles, file: str) -> None:
    """Say that a file cannot be read, and what says why."""
    print(Unread(house, file), file=sys.stderr)


MOST_NAMED = 3
"""Files named in one line; of more only the number is told."""


def say_in_part(findings: Iterable[Finding]) -> int:
    """Say which files have an error, as :func:`say_lacking` does."""
    return say_lacking(in_error(findings))


def say_lacking(wrong: Sequence[str]) -> int:
    """Say that files have an error, so that a value of theirs is missing in what is printed.

    1 when there is one, as the exit code.
    """
    if not wrong:
        return 0
    more = f" and {len(wrong) - MOST_NAMED} more" if len(wrong) > MOST_NAMED else ""
    print(
        f"{visible(', '.join(wrong[:MOST_NAMED]))}{more}: cannot be read in full, so something is "
        "missing in what is printed; run reportgen check",
        file=sys.stderr,
    )
    return 1


def records_named(root: Path, paths: Sequence[str]) -> list[str]:
    """Return the record files that the paths name, by name below the archive's folder, in order."""
    named = named_below(root, paths)
    return [name for name in record_names(root) if named is None or lies_in(name, named)]


def name_below(root: Path, text: str) -> str:
    """Return a path as a name below the archive's folder. Misuse when it lies outside.

    A file that is a link out of the archive keeps its own name, under which it is refused.
    """
    path = Path(text)
    for whole in (path.resolve(), path.parent.resolve() / path.name):
        if whole.is_relative_to(root):
            return whole.relative_to(root).as_posix()
    raise Misuse(f"{text}: leads out of the archive {root}; name a file inside it")


def named_below(root: Path, paths: Sequence[str]) -> set[str] | None:
    """Return the paths as names below the archive's folder; None when they name all of it."""
    named = {name_below(root, text) for text in paths}
    return None if not named or "." in named else named


def loaded(
    paths: Sequence[str], checks: Collection[str] = ()
) -> tuple[Archive, list[str]]:
    """Return the archive that the paths lie in, as far as these need it, and the paths as files.

    A record on standard input (``-``) belongs to the archive stood in. It is taken instead of the
    file of the same batch, so that what is still unsaved in an editor can be looked over.
    """
    if STDIN not in paths:
        root = root_of(paths)
        only = None if named_below(root, paths) is None else records_named(root, paths)
        return load_archive(root, checks, only=only), list(paths)
    if list(paths) != [STDIN]:
        raise Misuse("- stands alone: one record on standard input, no other path")
    root = root_of([])
    # One byte more than a file may have, so that the reader can tell that it is too long.
    data = sys.stdin.buffer.read(LIMIT + 1)
    name = _name_of(data, root)
    return load_archive(root, checks, {name: data}, only=[name]), [str(root / name)]


def _name_of(data: bytes, root: Path) -> str:
    """Return the name of the file that a record would be saved in."""
    match = re.search(rb"^batch:[ \t]*([\w.-]+)", data, re.MULTILINE)
    stem = match[1].decode("ascii", "replace") if match else "stdin"
    named = (name for name in record_names(root) if Path(name).stem == stem)
    return next(named, f"{stem}.yaml")


def shown(path: Path) -> str:
    """Return a path as the user would type it from here; absolute where it leads far away."""
    try:
        from_here = Path(os.path.relpath(path))
    except ValueError:  # another drive of Windows
        return path.as_posix()
    far = from_here.parts[:2] == ("..", "..")
    return (path if far else from_here).as_posix()
