"""What ``sheet``, ``record`` and ``build`` share: assess the batches and write their documents."""

from __future__ import annotations

import argparse
import functools
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Concatenate, ParamSpec

from msgspec import Struct

from reportgen.archive.issued import as_issued
from reportgen.archive.lock import output_lock
from reportgen.archive.workers import in_order
from reportgen.archive.write import write_atomic
from reportgen.assessment.assess import Assessment
from reportgen.record.failure import EXIT, noted, say
from reportgen.record.finding import Finding, in_error, visible
from reportgen.record.listing import BREWERY, OUTPUT, STOCK
from reportgen.record.load import Archive
from reportgen.record.model.brewery import Brewery
from reportgen.report.documents import PDF, Document
from reportgen.verbs.where import root_of, shown, unread, wanted


def folder_for(root: Path, chosen: str | None) -> Path:
    """Return the folder that documents are written to: the one chosen, else of the archive."""
    return Path(chosen) if chosen else root / OUTPUT


P = ParamSpec("P")


def alone(
    run: Callable[Concatenate[argparse.Namespace, P], int],
) -> Callable[Concatenate[argparse.Namespace, P], int]:
    """Make a verb hold the output folder of its archive while it runs."""

    @functools.wraps(run)
    def locked(arguments: argparse.Namespace, /, *more: P.args, **named_ones: P.kwargs) -> int:
        if getattr(arguments, "output", None):
            # A folder of the user's own: each file is written whole, nothing there is swept.
            return run(arguments, *more, **named_ones)
        named = getattr(arguments, "archive", None)
        paths = [named] if named else getattr(arguments, "path", None) or []
        with output_lock(root_of(paths) / OUTPUT):
            return run(arguments, *more, **named_ones)

    return locked


def paper_of(brewery: Brewery | None, chosen: str | None) -> str:
    """Return the paper: that of the command, else of ``brewery.yaml``, else A4."""
    return chosen or str((brewery.paper if brewery is not None else None) or "A4")


class Lost(Struct):
    """What a run leaves out: how many batches that cannot be read, and whether the tool failed."""

    unread: int = 0
    failed: bool = False

    @property
    def code(self) -> int:
        """The exit code that follows."""
        return EXIT if self.failed else 1 if self.unread else 0


def assessments(archive: Archive, paths: Sequence[str]) -> tuple[list[Assessment], Lost]:
    """Return the batches that the paths name and that can be assessed.

    Says which cannot, and counts them.
    """
    assessments = []
    lost: dict[str, Sequence[str]] = {file: () for file in unread(archive, paths)}
    failures: list[Finding] = []
    for batch in wanted(archive, paths):
        faulty = in_the_way(archive, batch.file)
        with noted(batch.file, failures):
            assessment = as_issued(archive, batch)
            if assessment is None or faulty:
                lost[batch.file] = faulty
            else:
                assessments.append(assessment)
    say_not_printed(lost)
    return assessments, Lost(len(lost), say(failures))


def in_the_way(archive: Archive, file: str) -> list[str]:
    """Return the files with an error for which a record is not printed.

    A value that cannot be read would be printed as one that is not there.
    """
    return [name for name in in_error(archive.findings) if name in (BREWERY, STOCK, file)]


def say_not_printed(lost: Mapping[str, Sequence[str]]) -> None:
    """Say which records are not printed, each with the files in its way; of many the same, once."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for file in sorted(lost):
        alike.setdefault(tuple(lost[file]) or (file,), []).append(file)
    for faulty, files in alike.items():
        what = visible(files[0]) if len(files) == 1 else f"{len(files)} records"
        where = visible(" and ".join(faulty))
        print(
            f"{what}: not printed, {where} cannot be read in full; run reportgen check",
            file=sys.stderr,
        )


def produce(
    batches: Iterable[Assessment],
    documents: Iterable[Document],
    output: Path,
    paper: str,
    copy: int = 1,
    form: str = PDF,
    flat: bool = False,
) -> bool:
    """Write the documents that apply to the batches, in one form, and print the path of each.

    Several are made at once, one a core. ``flat`` puts them all into ``output`` itself. Returns
    whether the tool failed on one; it says so, and the others are written.
    """
    wanted = [(b, d) for b in batches for d in documents if d.applies(b)]

    def make(number: int) -> Path | Finding:
        batch, document = wanted[number]
        name = document.file(batch.batch.id, form)
        path = output / (Path(name).name if flat else name)
        failures: list[Finding] = []
        with noted(batch.batch.file, failures):
            write_atomic(path, document.make(batch, paper, copy, form))
        return failures[0] if failures else path

    if form == PDF and len(wanted) > 1:
        from reportgen.report.pdf import prepare
        from reportgen.report.render import environment

        # What all workers need is loaded once, before they are forked.
        prepare()
        environment()
    failed = False
    for made in in_order(make, range(len(wanted))):
        if isinstance(made, Finding):
            failed = say([made])
        else:
            print(shown(made), flush=True)
    return failed
