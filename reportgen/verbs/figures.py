"""``figures``: every expected and actual number of a batch, as a table, CSV or JSON."""

from __future__ import annotations

import argparse
import csv
import json
import sys
from typing import Any

from reportgen.archive.issued import as_issued
from reportgen.assessment.assess import Assessment
from reportgen.record.failure import EXIT, Misuse, noted, say
from reportgen.record.finding import Finding, visible
from reportgen.record.load import Archive
from reportgen.report.figure_rows import (
    COLUMNS,
    fitting,
    row_in_base_units,
    row_in_house_units,
    steps,
    table,
)
from reportgen.verbs.check import screen_width
from reportgen.verbs.where import loaded, one_batch, say_in_part, say_unread, unread, wanted


def run(arguments: argparse.Namespace) -> int:
    """Print the figures of the batches named; 1 when one of them cannot be read in full."""
    if arguments.set and arguments.causes:
        raise Misuse("--set and --causes are two views: take one of them")
    archive, paths = loaded(arguments.path)
    if arguments.set:
        return _what_if(archive, paths, arguments)
    rows: list[dict[str, Any]] = []
    code = 0
    # Programs get base units whatever the house reads in.
    in_base = arguments.format != "table" or arguments.base_units
    as_row = row_in_base_units if in_base else row_in_house_units
    batches = wanted(archive, paths)
    for file in unread(archive, paths):
        say_unread(archive, file)
        code = 1
    failures: list[Finding] = []
    for batch in batches:
        assessment = None
        with noted(batch.file, failures):
            assessment = as_issued(archive, batch)
            if assessment is None:
                say_unread(archive, batch.file)
                code = 1
        if assessment is None:
            continue
        if arguments.causes and arguments.format == "table":
            _print_causes(assessment)
        own = [as_row(assessment, result) for result in assessment.results]
        own += [
            as_row(other, result) for other in assessment.others_filled
            for result in other.own_results
        ]
        if arguments.format == "json":
            # The replay walks the forecast once a fact, so it is left to who asks for it.
            by_figure = steps(assessment)
            own = [
                r | {"steps": by_figure[r["key"]]} if r["key"] in by_figure and not r["of"] else r
                for r in own
            ]
            _with_causes(own, assessment)
        rows += own
        for stage, reason in assessment.problems:
            said = f"{batch.file}: the {stage} cannot be forecast in full: {reason}"
            print(visible(said), file=sys.stderr)
            code = 1
    if not rows and code == 0 and not failures:
        raise Misuse("no batch record here")
    if rows and not (arguments.causes and arguments.format == "table"):
        _print(rows, arguments.format)
    code = code or (say_in_part(archive.findings) if rows else 0)
    return EXIT if say(failures) else code


def _with_causes(rows: list[dict[str, Any]], batch: Assessment) -> None:
    """Add to the rows of a batch what the U of each figure that matters comes from."""
    from reportgen.archive.matters import keys_of
    from reportgen.planning.what_if import causes_data

    wanted = set(keys_of(batch))
    for row in rows:
        if row["batch"] == batch.batch.id and row["key"] in wanted and not row["of"]:
            row |= causes_data(batch, row["key"])


def _print_causes(batch: Assessment) -> None:
    from reportgen.planning.what_if import causes_text

    print(visible(f"{batch.batch.id}  {batch.record.name}"))
    print("\n".join(causes_text(batch)))


def _what_if(archive: Archive, paths: list[str], arguments: argparse.Namespace) -> int:
    """Print what changes with other values in the plan of one batch; its file stays as it is."""
    from reportgen.planning.proposing import Unreadable
    from reportgen.planning.what_if import stops, what_if, what_if_json, what_if_text

    batch, file = one_batch(archive, paths, "--set")
    if arguments.format == "csv":
        raise Misuse("--set prints a table or JSON")
    try:
        if batch is None or batch.record is None:
            raise Unreadable(())
        plan, then = what_if(archive, batch, arguments.set)
    except Unreadable:
        say_unread(archive, file)
        return 1
    if arguments.format == "json":
        print(what_if_json(plan, then))
    else:
        print("\n".join(visible(line) for line in what_if_text(plan, then)))
    stopped = list(stops(then))
    for line in stopped:
        print(line, file=sys.stderr)
    return 1 if stopped else 0


def _print(rows: list[dict[str, Any]], form: str) -> None:
    if form == "json":
        json.dump(rows, sys.stdout, ensure_ascii=False, indent=1)
        print()
        return
    if form == "csv":
        writer = csv.DictWriter(sys.stdout, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        return
    texts = [{k: "" if v is None else str(v) for k, v in r.items()} for r in rows]
    width = screen_width()
    columns, left_out = fitting(texts, width)
    for line in table(texts, columns):
        # A screen too narrow for the least that is needed shows the beginning of each line.
        print(line if width is None or len(line) <= width else f"{line[:width - 1]}…")
    if left_out:
        sys.stdout.flush()
        said = f"left out to fit the screen: {', '.join(left_out)}; --format csv has all"
        print(said, file=sys.stderr)
