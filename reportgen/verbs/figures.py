"""``figures``: every expected and actual number of a batch, as a table, CSV or JSON.

The JSON also has the steps from plan to glass.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import sys
from typing import Any

from reportgen.archive.issued import as_issued
from reportgen.assessment.assess import Assessment
from reportgen.assessment.explained import explain
from reportgen.assessment.replay import rounded_steps
from reportgen.assessment.results import Result
from reportgen.forecast.figures import FIGURES, OUTCOMES
from reportgen.record.failure import EXIT, noted, say
from reportgen.record.finding import Finding, visible
from reportgen.record.kinds import KINDS
from reportgen.record.load import Archive
from reportgen.verbs.check import screen_width
from reportgen.verbs.where import (
    Misuse,
    loaded,
    one_batch,
    say_in_part,
    say_unread,
    unread,
    wanted,
)

COLUMNS = (
    "batch", "key", "stage", "unit", "expected", "low", "high", "actual", "U", "verdict", "method",
    "of",
)

def row(batch: Assessment, result: Result) -> dict[str, Any]:
    """Return one figure as a row of plain values; None where there is nothing to say.

    ``low`` and ``high`` are the tolerance limits; ``U`` is that of the actual (k = 2). ``of`` names
    other containers that it is of, where part of the beer went into such.
    """
    figure, limits, actual = result.figure, result.limits, result.actual
    places = figure.decimals + 2
    expected = result.expected

    def finite(value: float | None) -> float | None:
        return None if value is None or not math.isfinite(value) else round(value, places)

    return {
        "batch": batch.batch.id,
        "key": figure.key,
        "stage": figure.stage.value,
        "unit": KINDS[figure.kind].in_tables,
        "expected": finite(expected.value) if expected else None,
        "low": finite(limits.low) if limits else None,
        "high": finite(limits.high) if limits else None,
        "actual": finite(actual.value) if actual else None,
        "U": finite(actual.uncertainty) if actual and actual.value is not None else None,
        "verdict": result.verdict.value if result.verdict else None,
        "method": expected.method or expected.note if expected else None,
        "of": batch.packed_in if batch.filling_number else None,
    }


def row_in_house_units(batch: Assessment, result: Result) -> dict[str, Any]:
    """Return one figure as a row of texts, in the units of brewery.yaml and with its own decimals.

    The limits are rounded as the expected value is, U is rounded up.
    """
    from reportgen.record.printed import MINUS
    from reportgen.report.plan_text import printed_as, units_of

    figure, limits, actual = result.figure, result.limits, result.actual
    units = units_of(batch)
    kind, decimals = printed_as(figure, batch.case)

    def text(value: float | None) -> str | None:
        if value is None or not math.isfinite(value):
            return None
        return units.number(value, kind, decimals).replace(MINUS, "-")

    read = actual is not None and actual.value is not None
    shown = {
        "unit": units.head(kind),
        "expected": text(result.expected.value) if result.expected else None,
        "low": text(limits.low) if limits else None,
        "high": text(limits.high) if limits else None,
        "actual": text(actual.value) if actual else None,
        "U": units.plus_minus(actual.uncertainty, kind, decimals)[1:] if actual and read else None,
    }
    return row(batch, result) | shown


def steps(batch: Assessment) -> dict[str, list[dict[str, Any]]]:
    """Return by figure of the beer the steps from plan to glass, in the order of time.

    ``change`` is the forecast with the fact less the forecast without it, ``U`` its ±U (k = 2).
    ``own`` marks the reading of the figure itself: what nothing before it explains. What is printed
    adds up to its last digit; a fact that moves none of these is left out.
    """
    steps = {}
    replay = explain(batch).replay
    for key in OUTCOMES:
        places = FIGURES[key].decimals + 4
        moved = replay.of(key)
        sizes = rounded_steps(replay.planned.get(key, 0.0), [c.size for _, c in moved], places)
        steps[key] = [
            {
                "fact": fact.key,
                "title": fact.title,
                "stage": fact.stage.value,
                "at": fact.at.isoformat(" ", "minutes") if fact.at is not None else None,
                "before": round(change.before, places),
                "after": round(change.after, places),
                "change": size,
                "U": round(change.uncertainty, places),
                "own": fact.figure == key,
            }
            for (fact, change), size in zip(moved, sizes, strict=True)
            if size
        ]
    return steps


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
    as_row = row if in_base else row_in_house_units
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
    from reportgen.verbs.what_if import causes_data

    wanted = set(keys_of(batch))
    for row in rows:
        if row["batch"] == batch.batch.id and row["key"] in wanted and not row["of"]:
            row |= causes_data(batch, row["key"])


def _print_causes(batch: Assessment) -> None:
    from reportgen.verbs.what_if import causes_text

    print(visible(f"{batch.batch.id}  {batch.record.name}"))
    print("\n".join(causes_text(batch)))


def _what_if(archive: Archive, paths: list[str], arguments: argparse.Namespace) -> int:
    """Print what changes with other values in the plan of one batch; its file stays as it is."""
    from reportgen.verbs.proposing import Unreadable
    from reportgen.verbs.what_if import stops, what_if, what_if_json, what_if_text

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


DISPENSABLE = ("method", "stage", "batch", "high", "low", "unit")
"""Columns that are left out of a table on a narrow screen, the first one first."""

NUMBERS = ("expected", "low", "high", "actual", "U")


def fitting(texts: list[dict[str, str]], width: int | None) -> tuple[list[str], list[str]]:
    """Return the columns that fit into a width, and those left out; limits go both or neither.

    With more than one batch the column that names it stays.
    """
    columns = [name for name in COLUMNS if name != "of" or any(line["of"] for line in texts)]
    several = len({line["batch"] for line in texts}) > 1
    for name in DISPENSABLE:
        if width is None or max(map(len, table(texts, columns))) <= width:
            break
        if not (name == "batch" and several):
            columns.remove(name)
    if "high" not in columns and "low" in columns:
        columns.remove("low")
    return columns, [name for name in COLUMNS if name not in columns and name != "of"]


def table(texts: list[dict[str, str]], columns: list[str]) -> list[str]:
    """Return the lines of a table, heads first."""
    widths = {c: max([len(c), *(len(t[c]) for t in texts)]) for c in columns}
    lines = []
    for line in [dict(zip(COLUMNS, COLUMNS, strict=True)), *texts]:
        cells = [
            line[c].rjust(widths[c]) if c in NUMBERS else line[c].ljust(widths[c]) for c in columns
        ]
        lines.append("  ".join(cells).rstrip())
    return lines
