"""``record``: the batch records, as PDF with the source inside or as pages for a screen."""

from __future__ import annotations

import argparse
import sys

from reportgen.archive.revisions import NoRevision
from reportgen.report.documents import CHANGES, HTML, PDF, RECORD
from reportgen.verbs.produce import alone, assessments, folder_for, paper_of, produce
from reportgen.verbs.where import loaded


@alone
def run(arguments: argparse.Namespace) -> int:
    """Write the records; 1 when a batch cannot be read or has not been brewed."""
    archive, _ = loaded(arguments.path)
    root = archive.root
    batches, lost = assessments(archive, arguments.path)
    for batch in batches:
        if not RECORD.applies(batch) and arguments.path:
            print(f"{batch.batch.file}: no brew day yet, so no record", file=sys.stderr)
            lost.unread += 1
    form = HTML if arguments.html else PDF
    output, flat = folder_for(root, arguments.output), bool(arguments.output)
    paper = paper_of(archive, arguments.paper)
    lost.failed |= produce(batches, [RECORD], output, paper, form=form, flat=flat)
    if arguments.changes:
        try:
            lost.failed |= produce(batches, [CHANGES], output, paper, form=form, flat=flat)
        except NoRevision as error:
            # The record is whole without it, so this is no failure.
            print(f"no change list: {error}", file=sys.stderr)
    return lost.code
