"""Batch ids on the command line: wherever a record file may stand, the id of its batch may too."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from reportgen.record.failure import Misuse
from reportgen.record.ids import at_home
from reportgen.record.listing import HOUSE, SUFFIXES, find_root, record_names
from reportgen.record.model.batch import ID
from reportgen.record.suggest import did_you_mean
from reportgen.verbs.where import STDIN

NUMBERS = {"new": ("batch", "like"), "trace": ("name",)}
"""What of a verb is the number of a batch; where its record's path is typed, that number is meant.
"""


def with_files(arguments: argparse.Namespace) -> None:
    """Put the file of its batch in place of each id among the paths, and the PDFs for ``verify``.

    A file or folder of that name comes first. Misuse for an id that the archive does not have.
    """
    for option in NUMBERS.get(getattr(arguments, "verb", ""), ()):
        text = getattr(arguments, option)
        if isinstance(text, str) and Path(text).suffix in SUFFIXES:
            setattr(arguments, option, Path(text).stem)
    path = getattr(arguments, "path", None)
    if isinstance(path, str):
        arguments.path = file_of(path)
    elif path:
        arguments.path = [name for text in path for name in files_of(text)]
    pdf = getattr(arguments, "pdf", None)
    if isinstance(pdf, list):
        root = Path(arguments.archive) if arguments.archive else None
        arguments.pdf = [name for text in pdf for name in pdfs_of(text, root)]


def _batch(text: str, root: Path) -> list[str]:
    """Return the record files of an id, the one that counts first; none when the text cannot be
    an id. Misuse when it is unknown.
    """
    if not ID.fullmatch(text) or Path(text).suffix in (*SUFFIXES, ".pdf"):
        return []
    files: dict[str, list[str]] = {}
    for name in sorted(record_names(root), key=at_home):
        files.setdefault(Path(name).stem, []).append(name)
    if text in files:
        return files[text]
    hint = did_you_mean(text, files)
    said = f"{text}: no such file or folder, and no batch `{text}` in this archive"
    raise Misuse(f"{said}; {hint}" if hint else said)


def file_of(text: str) -> str:
    """Return the one path that a word on the command line means."""
    return files_of(text)[0]


def files_of(text: str) -> list[str]:
    """Return the paths that a word on the command line means: all that bear a batch's number."""
    if text == STDIN or Path(text).exists():
        return [text]
    root = find_root(Path.cwd())
    files = _batch(text, root) if root is not None else []
    return [os.path.relpath(root / name) for name in files] if files and root else [text]


def pdfs_of(text: str, root: Path | None) -> list[str]:
    """Return the PDFs that a word means: of an id, the record and sheets that were built."""
    path = Path(text)
    if path.suffix in SUFFIXES and path.name not in HOUSE and path.is_file():
        # The record whose PDFs are meant.
        root, text = root or path.parent, path.stem
    elif path.exists():
        return [text]
    root = find_root(root or Path.cwd())
    if root is None or not _batch(text, root):
        return [text]
    from reportgen.record.listing import OUTPUT
    from reportgen.report.documents import ALL, PDF

    names = [root / OUTPUT / document.file(text, PDF) for document in ALL]
    paths = [os.path.relpath(path) for path in names if path.is_file()]
    if not paths:
        raise Misuse(f"no PDF of batch {text} in {OUTPUT}/; fix: run `reportgen record {text}`")
    return paths
