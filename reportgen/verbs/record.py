"""``record``: the batch records and their working, as PDF with the source inside or as pages."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from reportgen.archive.revisions import NoRevision
from reportgen.archive.write import write_atomic
from reportgen.assessment.assess import Assessment
from reportgen.record.failure import Misuse
from reportgen.report.documents import CARD, CHANGES, HTML, PDF, RECORD, WORKING
from reportgen.verbs.produce import Lost, alone, assessments, folder_for, paper_of, produce
from reportgen.verbs.where import loaded, shown

NOT_TO_DRINK = ("scrap", "hold", "rework")
"""What becomes of a batch that nobody is to be given."""


@alone
def run(arguments: argparse.Namespace) -> int:
    """Write the records; 1 when a batch cannot be read or has not been brewed."""
    wants_labels = arguments.labels is not None
    if (arguments.card, wants_labels, arguments.working).count(True) > 1:
        raise Misuse("--card, --labels and --working are each printed by a run of their own")
    if wants_labels and arguments.html:
        raise Misuse("labels are for paper: leave out --html")
    archive, _ = loaded(arguments.path)
    root = archive.root
    batches, lost = assessments(archive, arguments.path)
    to_drink = arguments.card or wants_labels
    if not (to_drink or arguments.path or any(RECORD.applies(batch) for batch in batches)):
        print("no batch has been brewed yet, so there is no record", file=sys.stderr)
    for batch in batches:
        if not to_drink and not RECORD.applies(batch) and arguments.path:
            print(f"{batch.batch.file}: no brew day yet, so no record", file=sys.stderr)
            lost.unread += 1
    if to_drink:
        batches = [batch for batch in batches if not _is_held(batch, lost)]
    form = HTML if arguments.html else PDF
    output, flat = folder_for(root, arguments.output), bool(arguments.output)
    paper = paper_of(archive.brewery, arguments.paper)
    if arguments.card:
        lost.failed |= produce(batches, [CARD], output, paper, form=form, flat=flat)
        return lost.code
    if wants_labels:
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


def _is_held(batch: Assessment, lost: Lost) -> bool:
    """Whether the beer is not to be drunk, by its review; it says so, since cards invite to."""
    review = batch.record.review
    if review is None or review.disposition not in NOT_TO_DRINK:
        return False
    print(
        f"{batch.batch.file}: neither card nor labels: its review says `disposition: "
        f"{review.disposition}`",
        file=sys.stderr,
    )
    lost.unread += 1
    return True


def _labels(batches: list[Assessment], name: str, output: Path) -> None:
    """Write a sheet of labels for each batch on one kind of stock. Misuse for an unknown one."""
    from reportgen.report.label_stock import STOCKS
    from reportgen.report.labels import file_end, labels
    from reportgen.report.make import pdf_draft

    stock = STOCKS.get(name)
    if stock is None:
        raise Misuse(f"no label stock `{name}`; one of {', '.join(STOCKS)}")
    for batch in batches:
        # Bottles and kegs differ in size, strength and date: each kind has a sheet of its own.
        kinds = batch.filled_kinds
        for kind in kinds:
            data = pdf_draft(kind, "labels", labels(kind, stock), stock.paper).make()
            path = output / "labels" / f"{batch.batch.id}-{name}{file_end(kind, kinds)}.pdf"
            write_atomic(path, data)
            print(shown(path), flush=True)
