"""``sheet``: the working sheets of the batches named, as PDF or as pages for a screen."""

from __future__ import annotations

import argparse
import datetime
import sys
from pathlib import Path

from reportgen.archive.write import write_atomic
from reportgen.assessment.assess import Assessment
from reportgen.assessment.issued_numbers import issued_line
from reportgen.record.failure import Misuse
from reportgen.record.finding import visible
from reportgen.report.documents import HTML, LESSON, PDF, SHEETS
from reportgen.verbs.produce import alone, assessments, folder_for, paper_of, produce
from reportgen.verbs.where import loaded, shown


def _tasting(
    batches: list[Assessment], arguments: argparse.Namespace, output: Path, paper: str
) -> int:
    """Write the pouring sheet and the assessors' sheets of an evening; print the path."""
    from reportgen.report.make import pdf_draft
    from reportgen.report.tasting import Evening, evening_sheets

    try:
        day = datetime.date.fromisoformat(arguments.tasting).isoformat()
    except ValueError:
        day = ""
    if not day or day != arguments.tasting:
        raise Misuse(f"--tasting: `{arguments.tasting}` is not a day; write one like 2026-12-05")
    if arguments.html:
        raise Misuse("--tasting is printed: leave out --html")
    away = [batch.batch.id for batch in batches if batch.record.is_scrapped]
    if away:
        raise Misuse(f"--tasting: {', '.join(away)} was poured away, by its review")
    evening = Evening(arguments.tasting, arguments.assessors, arguments.test)
    try:
        view = evening_sheets(batches, evening, paper, arguments.copy)
    except ValueError as error:
        raise Misuse(str(error)) from None
    folder = output if arguments.output else output / "sheets"
    path = folder / f"tasting-{evening.day}-{evening.test}.pdf"
    write_atomic(path, pdf_draft(batches[0], "tasting_sheet", view, paper).make())
    print(shown(path))
    return 0


@alone
def run(arguments: argparse.Namespace) -> int:
    """Write the sheets; 1 when a batch cannot be read."""
    if arguments.copy < 1:
        raise Misuse("the copy number starts at 1")
    if arguments.lesson and arguments.tasting is not None:
        raise Misuse("--lesson and --tasting are each printed by a run of their own")
    archive, _ = loaded(arguments.path)
    root = archive.root
    batches, lost = assessments(archive, arguments.path)
    if not batches and not lost.unread:
        print("no batch record here; begin one with `reportgen new`", file=sys.stderr)
    paper = paper_of(archive.brewery, arguments.paper)
    form = HTML if arguments.html else PDF
    output = folder_for(root, arguments.output)
    flat = bool(arguments.output)
    if arguments.tasting is not None:
        return _tasting(batches, arguments, output, paper) or lost.code
    documents = [LESSON] if arguments.lesson else SHEETS
    lost.failed |= produce(batches, documents, output, paper, arguments.copy, form, flat)
    for batch in () if arguments.lesson else batches:
        # Beside the paths, which another program may read.
        print(f"{visible(batch.batch.file)}: when it is issued, write its day:\n"
              f"{issued_line(batch, arguments.copy)}", file=sys.stderr)
    return lost.code
