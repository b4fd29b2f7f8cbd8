"""``record``: the batch records and their working, as PDF with the source inside or as pages."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from reportgen.archive.revisions import NoRevision
from reportgen.archive.write import write_atomic
from reportgen.assessment.assess import Assessment
from reportgen.report.documents import CARD, CHANGES, HTML, PDF, RECORD, WORKING
from reportgen.verbs.produce import alone, assessments, folder_for, paper_of, produce
from reportgen.verbs.where import Misuse, loaded, shown


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
    if arguments.card:
        lost.failed |= produce(batches, [CARD], output, paper, form=form, flat=flat)
        return lost.code
    if arguments.labels:
        _labels(batches, arguments.labels, output)
        return lost.code
    lost.failed |= produce(batches, [RECORD], output, paper, form=form, flat=flat)
    if arguments.working:
        lost.failed |= produce(batches, [WORKING], output, paper, form=form, flat=flat)
    if arguments.changes:
        try:
            lost.failed |= produce(batches, [CHANGES], output, paper, form=form, flat=flat)
        except NoRevision as error:
            # The record is whole without it, so this is no failure.
            print(f"no change list: {error}", file=sys.stderr)
    return lost.code


def _labels(batches: list[Assessment], name: str, output: Path) -> None:
    """Write a sheet of labels for each batch on one kind of stock. Misuse for an unknown one."""
    from reportgen.report.label_stock import STOCKS
    from reportgen.report.labels import labels
    from reportgen.report.make import pdf_draft

    stock = STOCKS.get(name)
    if stock is None:
        raise Misuse(f"no label stock `{name}`; one of {', '.join(STOCKS)}")
    for batch in batches:
        data = pdf_draft(batch, "labels", labels(batch, stock), stock.paper).make()
        path = output / "labels" / f"{batch.batch.id}-{name}.pdf"
        write_atomic(path, data)
        print(shown(path), flush=True)
