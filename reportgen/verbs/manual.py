"""``manual``: the manual as web pages and one PDF."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from reportgen.archive.lock import output_lock
from reportgen.archive.write import write_atomic
from reportgen.record.listing import OUTPUT, find_root
from reportgen.report.manual import FOLDER, PDF, book_view, manual_html, manual_pdf
from reportgen.report.manual_documents import pictures
from reportgen.verbs.where import shown


def folder_of(chosen: str | None, here: Path) -> Path:
    """Return the folder named, else ``build/manual`` of the archive, else that of where one is."""
    if chosen is not None:
        return Path(chosen)
    return (find_root(here) or here) / OUTPUT / FOLDER


def run(arguments: argparse.Namespace) -> int:
    """Write the manual and print where it begins."""
    here = Path.cwd()
    folder = folder_of(arguments.output, here)
    # Within an archive it is the output folder that only one run may write into.
    inside = folder.parent if arguments.output is None else folder
    with output_lock(inside):
        for name, text in manual_html().items():
            write_atomic(folder / name, text.encode("utf-8"))
        print(shown(folder / "index.html"), flush=True)
        print(f"making the pictures and {PDF}: a minute or two", file=sys.stderr)
        for name, data in pictures():
            write_atomic(folder / name, data)
        write_atomic(folder / PDF, manual_pdf(arguments.paper, folder, book_view(arguments.whole)))
        print(shown(folder / PDF))
    return 0
