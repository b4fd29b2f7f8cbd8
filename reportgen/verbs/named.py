"""Batch ids on the command line: wherever a record file may stand, the id of its batch may too."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from reportgen.record.listing import SUFFIXES, find_root, record_names
from reportgen.record.model.batch import ID
from reportgen.record.suggest import did_you_mean
from reportgen.verbs.where import STDIN, Misuse


def with_files(arguments: argparse.Namespace) -> None:
    """Put the file of its batch in place of each id among the paths, and the PDFs for ``verify``.

    A file or folder of that name comes first. Misuse for an id that the archive does not have.
    """
    path = getattr(arguments, "path", None)
    if isinstance(path, str):
        arguments.path = file_of(path)
    elif path:
        arguments.path = [file_of(text) for text in path]
    pdf = getattr(arguments, "pdf", None)
    if isinstance(pdf, list):
        root = Path(arguments.archive) if arguments.archive else None
        arguments.pdf = [name for text in pdf for name in pdfs_of(text, root)]


def _batch(text: str, root: Path) -> str | None:
    """Return the record file of an id; None when the text cannot be one. Misuse when unknown."""
    if not ID.fullmatch(text) or Path(text).suffix in (*SUFFIXES, ".pdf"):
        return None
    files = {Path(name).stem: name for name in reversed(record_names(root))}
    if text in files:
        return files[text]
    hint = did_you_mean(text, files)
    said = f"{text}: no such file or folder, and no batch `{text}` in this archive"
    raise Misuse(f"{said}; {hint}" if hint else said)


def file_of(text: str) -> str:
    """Return the path that a word on the command line means."""
    if text == STDIN or Path(text).exists():
        return text
    root = find_root(Path.cwd())
    found = _batch(text, root) if root is not None else None
    return text if found is None or root is None else os.path.relpath(root / found)


def pdfs_of(text: str, root: Path | None) -> list[str]:
    """Return the PDFs that a word means: of an id, the record and sheets that were built."""
    if Path(text).exists():
        return [text]
    root = find_root(root or Path.cwd())
    if root is None or _batch(text, root) is None:
        return [text]
    from reportgen.record.listing import OUTPUT
    from reportgen.report.documents import ALL, PDF

    names = [root / OUTPUT / document.file(text, PDF) for document in ALL]
    found = [os.path.relpath(path) for path in names if path.is_file()]
    if not found:
        raise Misuse(f"no PDF of batch {text} in {OUTPUT}/; fix: run `reportgen record {text}`")
    return found
