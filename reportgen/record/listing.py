"""Which record files an archive has, and the batch ids in them: all that is told without loading.

Looked through once, a listing serves every portion of a large archive that is loaded by itself.
"""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from msgspec import Struct

from reportgen.record.finding import Finding, Position
from reportgen.record.ids import Ids, ids_of
from reportgen.record.rules import finding_of
from reportgen.record.source import LIMIT, content_digest

BREWERY, STOCK = "brewery.yaml", "stock.yaml"
HOUSE = (BREWERY, STOCK)
SUFFIXES = (".yaml", ".yml")
OUTPUT = "build"
"""Folder in the archive that everything is written to, save what is sent elsewhere."""

NOT_RECORDS = (OUTPUT, "templates")


class Listing(Struct, frozen=True):
    """The record files of an archive, by name below its folder and in order, and their ids.

    ``digests`` are those of the content of the files that can be read.
    """

    names: tuple[str, ...]
    ids: Ids
    digests: Mapping[str, str]


def find_root(start: Path) -> Path | None:
    """Return the nearest folder at or above ``start`` that holds a ``brewery.yaml``."""
    start = start.resolve()
    for folder in (start, *start.parents):
        if (folder / BREWERY).is_file():
            return folder
    return None


def record_files(root: Path) -> list[Path]:
    """Return the record files of an archive, sorted: every YAML file but the two of the house.

    Hidden folders, ``build`` and ``templates`` are not searched, nor is a folder that is a link.
    """
    return [path for path in _named_like_records(root) if not _is_folder(path)]


def record_names(root: Path, given: Collection[str] = ()) -> tuple[str, ...]:
    """Return the names of the record files below the archive's folder, in order.

    ``given`` are names of files that are handed over; those of records are among them.
    """
    more = {root / name for name in given if name not in (BREWERY, STOCK)}
    return tuple(path.relative_to(root).as_posix() for path in sorted({*record_files(root), *more}))


def listing_of(root: Path, given: Mapping[str, bytes] | None = None) -> Listing:
    """Look through an archive. ``given`` are bytes that are taken instead of what is on the disk.
    """
    given = given or {}
    names = record_names(root, given)
    inside = root.resolve()
    digests: dict[str, str] = {}

    def read() -> Iterator[tuple[str, bytes]]:
        for name in names:
            data = given[name] if name in given else _bytes_of(root / name, inside)
            if data:
                digests[name] = content_digest(data)
            yield name, data

    return Listing(names, ids_of(read()), digests)


def mentioning(root: Path, names: Collection[str], words: Collection[str]) -> list[str]:
    """Return the names of the record files in which one of some words may stand, however written.

    A file with a backslash may write any of them otherwise, and so counts.
    """
    parts = ([re.escape(p) for p in re.split(r"[\s'_-]+", word)] for word in words)
    any_of = "|".join(r"[\s'_-]*".join(word) for word in parts)
    wanted = re.compile(rf"(?<!\w)(?:{any_of})(?!\w)".encode(), re.IGNORECASE)
    inside = root.resolve()
    files = []
    for name in names:
        data = _bytes_of(root / name, inside)
        if b"\\" in data or wanted.search(data):
            files.append(name)
    return files


def misnamed(root: Path) -> list[Finding]:
    """Return an error for each folder with the name of a record, and for each record that is
    passed over since its name ends otherwise, such as ``.YAML`` or ``.yaml.txt``.
    """
    findings = []
    for path in paths_below(root, NOT_RECORDS):
        place = Position(path.relative_to(root).as_posix(), 1, 1, 1)
        named = path.suffix in SUFFIXES and path.relative_to(root).as_posix() not in HOUSE
        right = right_name(path.name)
        if named and _is_folder(path):
            findings.append(finding_of(
                "not-a-file", place, "this is a folder with the name of a record", "a text file"
            ))  # fmt: skip
        elif right and not _is_folder(path):
            findings.append(finding_of(
                "file-ending", place,
                "this file is not read: its name does not end in .yaml",
                right,
                f"rename it to {right}",
            ))  # fmt: skip
    return findings


_ENDING = re.compile(
    r"\.ya?ml(\.txt|\.text|\.rtf|\.docx?|\.html?|\.download| ?\(\d+\))?$", re.IGNORECASE
)


def right_name(name: str) -> str:
    """Return the name that a file should have to be read; empty when nothing is wrong with it.

    Wrong is an ending of YAML in capitals, or another that an editor or a browser put after it.
    """
    match = _ENDING.search(name)
    if match is None or match[0] in SUFFIXES:
        return ""
    return name[: match.start()] + SUFFIXES[0]


def lies_in(name: str, named: Collection[str]) -> bool:
    """Whether a file is named, or lies in a folder that is."""
    return any(name == folder or name.startswith(f"{folder}/") for folder in named)


def leads_out(path: Path, inside: Path) -> bool:
    """Whether a path is a link to something outside a folder, which must itself be resolved."""
    try:
        return not path.resolve().is_relative_to(inside)
    except (OSError, RuntimeError):
        # A link in a circle leads nowhere; reading it says so.
        return False


def paths_below(root: Path, but: Collection[str] = ()) -> list[Path]:
    """Return the files and folders below a folder, sorted, without what is hidden.

    ``but`` are names directly below it that are left out. What is left out is not gone through
    either, since an output may hold far more files than the archive; nor is a folder that is a
    link.
    """
    paths: list[Path] = []
    for folder, folders, files in os.walk(root):
        here = Path(folder)
        left_out = but if here == root else ()
        folders[:] = [n for n in folders if not n.startswith(".") and n not in left_out]
        paths += (here / n for n in folders)
        paths += (here / n for n in files if not n.startswith(".") and n not in left_out)
    return sorted(paths)


def _named_like_records(root: Path) -> list[Path]:
    below = paths_below(root, (*NOT_RECORDS, BREWERY, STOCK))
    return [path for path in below if path.suffix in SUFFIXES]


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError:
        return False


def _bytes_of(path: Path, inside: Path) -> bytes:
    """Return the bytes of a record to look for its id; none of what cannot be read or is a link.

    What stands in the way is said when the file itself is wanted.
    """
    try:
        if not path.is_file() or path.stat().st_size > LIMIT or leads_out(path, inside):
            return b""
        return path.read_bytes()
    except (OSError, RuntimeError):
        return b""
