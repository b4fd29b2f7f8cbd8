"""``sheet``: the working sheets of the batches named, as PDF or as pages for a screen."""

from __future__ import annotations

import argparse
import sys

from reportgen.assessment.issued_numbers import issued_line
from reportgen.record.finding import visible
from reportgen.report.documents import HTML, LESSON, PDF, SHEETS
from reportgen.verbs.produce import alone, assessments, folder_for, paper_of, produce
from reportgen.verbs.where import Misuse, loaded


@alone
def run(arguments: argparse.Namespace) -> int:
    """Write the sheets; 1 when a batch cannot be read."""
    if arguments.copy < 1:
        raise Misuse("the copy number starts at 1")
    archive, _ = loaded(arguments.path)
    root = archive.root
    batches, lost = assessments(archive, arguments.path)
    paper = paper_of(archive, arguments.paper)
    form = HTML if arguments.html else PDF
    output = folder_for(root, arguments.output)
    flat = bool(arguments.output)
    documents = [LESSON] if arguments.lesson else SHEETS
    lost.failed |= produce(batches, documents, output, paper, arguments.copy, form, flat)
    for batch in () if arguments.lesson else batches:
        # Beside the paths, which another program may read.
        print(f"{visible(batch.batch.file)}: when it is issued, write its day:\n"
              f"{issued_line(batch, arguments.copy)}", file=sys.stderr)
    return lost.code
