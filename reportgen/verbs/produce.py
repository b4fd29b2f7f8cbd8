"""What ``sheet``, ``record`` and ``build`` share: assess the batches and write their documents."""

from __future__ import annotations

import argparse
import functools
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from reportgen.archive.lock import output_lock
from reportgen.archive.workers import in_order
from reportgen.archive.write import write_atomic
from reportgen.assess import Assessment, assess
from reportgen.record.finding import Severity, visible
from reportgen.record.listing import BREWERY, STOCK
from reportgen.record.load import Archive
from reportgen.report.documents import PDF, Document
from reportgen.verbs.check import shown
from reportgen.verbs.where import root_of, unread, wanted

OUTPUT = "build"
"""Folder in the archive that everything is written to; nothing else is ever written."""


def alone(run: Callable[[argparse.Namespace], int]) -> Callable[[argparse.Namespace], int]:
    """Make a verb hold the output folder of its archive while it runs."""

    @functools.wraps(run)
    def locked(arguments: argparse.Namespace) -> int:
        named = getattr(arguments, "archive", None)
        paths = [named] if named else getattr(arguments, "path", None) or []
        with output_lock(root_of(paths) / OUTPUT):
            return run(arguments)

    return locked


def paper_of(archive: Archive, chosen: str | None) -> str:
    """Return the paper: that of the command, else of ``brewery.yaml``, else A4."""
    if chosen is not None:
        return chosen
    house = archive.brewery.paper if archive.brewery is not None else None
    return str(house or "A4")


def assessments(archive: Archive, paths: Sequence[str]) -> tuple[list[Assessment], int]:
    """Return the batches that the paths name and that can be assessed.

    Says which cannot, and counts them.
    """
    found = []
    lost = len(faulty_files := unread(archive, paths))
    for file in faulty_files:
        say_not_printed(file)
    for batch in wanted(archive, paths):
        assessment = assess(archive, batch)
        faulty = in_the_way(archive, batch.file)
        if assessment is None or faulty:
            say_not_printed(batch.file, faulty)
            lost += 1
        else:
            found.append(assessment)
    return found, lost


def in_the_way(archive: Archive, file: str) -> list[str]:
    """Return the files with an error for which a record is not printed.

    A value that cannot be read would be printed as one that is not there.
    """
    wrong = {f.position.file for f in archive.findings if f.severity is Severity.ERROR}
    return sorted(wrong & {BREWERY, STOCK, file})


def say_not_printed(file: str, faulty: Iterable[str] = ()) -> None:
    """Say that a record is not printed, and which files stand in the way."""
    where = " and ".join(faulty) or file
    print(
        f"{visible(file)}: not printed, {visible(where)} cannot be read in full; "
        "run reportgen check",
        file=sys.stderr,
    )


def produce(
    batches: Iterable[Assessment],
    documents: Iterable[Document],
    output: Path,
    paper: str,
    copy: int = 1,
    form: str = PDF,
) -> list[Path]:
    """Write the documents that apply to the batches, in one form, and print the path of each.

    Several are made at once, one a core.
    """
    wanted = [(b, d) for b in batches for d in documents if d.applies(b)]

    def make(number: int) -> Path:
        batch, document = wanted[number]
        path = output / document.file(batch.batch.id, form)
        write_atomic(path, document.make(batch, paper, copy, form))
        return path

    if form == PDF and len(wanted) > 1:
        from reportgen.report.pdf import prepare

        # What all workers need is loaded once, before they are forked.
        prepare()
    written = []
    for path in in_order(make, range(len(wanted))):
        print(shown(path), flush=True)
        written.append(path)
    return written
