"""``compare``: batches, or revisions of one: only what differs beyond U, and what it did."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from reportgen.archive.issued import as_issued
from reportgen.archive.lock import output_lock
from reportgen.archive.revisions import NoRevision, exported, resolve
from reportgen.archive.write import write_atomic
from reportgen.assessment.assess import Assessment
from reportgen.history.difference import Difference, difference_of
from reportgen.loading import load_archive
from reportgen.record.failure import Misuse
from reportgen.record.finding import visible
from reportgen.record.listing import OUTPUT, listing_of
from reportgen.record.printed import Units
from reportgen.record.suggest import did_you_mean
from reportgen.verbs.produce import paper_of
from reportgen.verbs.where import Unread, root_named, say_in_part, shown

if TYPE_CHECKING:
    from reportgen.report.comparison import ComparisonPage
from reportgen.report.comparison_data import as_data
from reportgen.report.comparison_lines import ComparedSide, lines


def run(arguments: argparse.Namespace) -> int:
    """Print what differs; 0 whether something does or not, 1 when a side is not read in full."""
    root = root_named(arguments)
    sides = [side_of(root, text) for text in (arguments.a, arguments.b, *arguments.more)]
    _print(root, sides, arguments)
    sys.stdout.flush()
    return say_in_part(f for side in sides for f in side.assessment.archive.findings)


def _print(root: Path, sides: list[ComparedSide], arguments: argparse.Namespace) -> None:
    """Print what differs, or write it."""
    if arguments.more:
        _several(sides, arguments)
        return
    difference = difference_of(sides[0].assessment, sides[1].assessment)
    if arguments.format == "json":
        print(json.dumps(as_data(sides, difference), ensure_ascii=False, indent=1))
        return
    if arguments.page or arguments.pdf:
        if arguments.page:
            data, ending = _page(root, sides, difference), ".html"
            print(shown(_written(root, sides, ending, data, arguments.output)))
        if arguments.pdf:
            data, ending = _pdf(root, sides, difference, arguments.paper), ".pdf"
            print(shown(_written(root, sides, ending, data, arguments.output)))
        return
    units = Units(sides[1].assessment.brewery.system)
    print("\n".join(visible(line) for line in lines(sides, difference, units)))


def _several(sides: list[ComparedSide], arguments: argparse.Namespace) -> None:
    """Print what differs among three batches or more."""
    from reportgen.report.several import data_of, several_lines

    if arguments.page or arguments.pdf:
        raise Misuse("a page puts two side by side; leave out --page and --pdf for more")
    batches = [side.assessment for side in sides]
    labels = [side.label for side in sides]
    if arguments.format == "json":
        print(json.dumps(data_of(batches, labels), ensure_ascii=False, indent=1))
        return
    for side in sides:
        print(visible(side.title))
    print("\n".join(visible(line) for line in several_lines(batches, labels)))


def _page(root: Path, sides: list[ComparedSide], difference: Difference) -> bytes:
    """Return the comparison as a page."""
    from reportgen.report.render import environment

    template = environment(root / "templates").get_template("ledger/compare.html.j2")
    text = str(template.render(view=_page_of(sides, difference)))
    return (text.rstrip("\n") + "\n").encode()


def _pdf(root: Path, sides: list[ComparedSide], difference: Difference, paper: str | None) -> bytes:
    """Return the comparison as PDF."""
    from reportgen.report.comparison import comparison_pdf
    from reportgen.report.make import date_of

    last = sides[1].assessment
    date = max(date_of(side.assessment.record) for side in sides)
    return comparison_pdf(
        _page_of(sides, difference), paper_of(last.archive.brewery, paper), date, root
    )


def _page_of(sides: list[ComparedSide], difference: Difference) -> ComparisonPage:
    from reportgen.report.comparison import comparison_page

    a, b = sides
    from reportgen.report.step_difference import difference_chart

    labels = (a.label, b.label)
    chart = difference_chart(a.assessment, b.assessment, labels)
    return comparison_page(difference, (a.title, b.title), labels, b.assessment.brewery, chart)


def _written(
    root: Path, sides: list[ComparedSide], ending: str, data: bytes, chosen: str | None
) -> Path:
    """Write the comparison into the folder chosen, else of the archive, and return its path."""
    name = "_".join(side.label for side in sides).replace("@", "-at-") + ending
    if chosen:
        write_atomic(Path(chosen) / name, data)
        return Path(chosen) / name
    path = root / OUTPUT / "compare" / name
    with output_lock(root / OUTPUT):
        write_atomic(path, data)
    return path


def side_of(root: Path, text: str) -> ComparedSide:
    """Return one side: a batch id or the path of a record, with ``@REV`` for an earlier revision.

    Of the archive only what the record hangs on is read. :class:`Misuse` when there is no such
    batch or revision, :class:`Unread` when it gives no batch.
    """
    name, at, rev = text.partition("@")
    if not at:
        return ComparedSide(_assessed(root, root, name), None)
    try:
        revision = resolve(root, rev or "HEAD")
        with exported(root, revision) as folder:
            where = f" in revision {revision.short}"
            return ComparedSide(_assessed(root, folder, name, where), revision)
    except NoRevision as error:
        raise Misuse(f"{text}: {error}") from error


def _assessed(root: Path, folder: Path, name: str, where: str = "") -> Assessment:
    """Assess one batch of an archive as it lies in a folder; ``root`` is where it belongs."""
    ids = listing_of(folder).ids
    path = Path(name).resolve()
    inside = path.relative_to(root).as_posix() if path.is_relative_to(root) else ""
    files = [file for group in ids.files.values() for file in group]
    file = next(iter(ids.files_of(name)), inside if inside in files else "")
    if not file:
        hint = did_you_mean(name, sorted(ids.known))
        raise Misuse(f"no batch `{name}`{where or ' in this archive'}{hint and f'; {hint}'}")
    archive = replace(load_archive(folder, only=[file]), root=root)
    batch = next((b for b in archive.batches.values() if b.file == file), None)
    assessment = as_issued(archive, batch) if batch is not None else None
    if assessment is None:
        raise Unread(archive, file, where)
    return assessment
