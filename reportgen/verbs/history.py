"""``history``: what the kit and the yeasts have done so far, and what that proposes."""

from __future__ import annotations

import argparse
import json
import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

from reportgen.archive.summaries import survey
from reportgen.history.pairs import GroupComparison, compare_groups, groups
from reportgen.history.row import BatchRow
from reportgen.history.series import Series, history_of, proposal_of
from reportgen.record.failure import Misuse
from reportgen.record.finding import visible
from reportgen.record.listing import OUTPUT
from reportgen.record.printed import Units
from reportgen.record.suggest import did_you_mean
from reportgen.report.history_words import (
    MeasureText,
    caveats,
    comparison_sentence,
    facts,
    proposal_text,
    remarks,
    title_of,
    told_of,
    triangle_sentence,
)
from reportgen.report.text_table import wrapped
from reportgen.verbs.progress import progress
from reportgen.verbs.where import Unread, root_named, say_in_part


def run(arguments: argparse.Namespace) -> int:
    """Print the history, or the comparison of two yeasts or liquors; 1 when not of all."""
    root = root_named(arguments)
    surveyed = survey(root, root / OUTPUT, progress("looked at"), keep=False)
    brewery, stock = surveyed.register.brewery, surveyed.register.stock
    if brewery is None or stock is None:
        raise Unread(surveyed.register)
    units = Units(brewery.system)
    if arguments.compare:
        comparison = _compared(surveyed.rows, *arguments.compare)
        if arguments.format == "json":
            print(json.dumps(_comparison_data(comparison), ensure_ascii=False, indent=1))
        else:
            print("\n".join(visible(line) for line in comparison_lines(comparison, units)))
        return say_in_part(surveyed.register.findings)
    history = history_of(surveyed.rows, brewery, stock)
    if arguments.format == "json":
        print(json.dumps([_series_data(s, units) for s in history], ensure_ascii=False, indent=1))
    elif not history:
        print("No batch has readings yet.")
    else:
        told_of = ("\n".join(series_lines(series, units)) for series in history)
        print(
            "\n\n".join("\n".join(visible(line) for line in part.split("\n")) for part in told_of)
        )
    return say_in_part(surveyed.register.findings)


def _compared(rows: Mapping[str, BatchRow], a: str, b: str) -> GroupComparison:
    if a == b:
        raise Misuse(f"`{a}` cannot be compared with itself")
    tables = {by: groups(rows.values(), by) for by in ("yeast", "liquor")}
    for by, table in tables.items():
        if a in table and b in table:
            return compare_groups(rows, by, a, b)
    known = [name for table in tables.values() for name in table]
    for name in (a, b):
        if name not in known:
            hint = did_you_mean(name, known)
            raise Misuse(
                f"no batch was brewed with yeast or liquor `{name}`{hint and f'; {hint}'}"
            )
    raise Misuse(f"one of `{a}` and `{b}` is a yeast and the other a liquor")


def series_lines(series: Series, units: Units) -> Iterator[str]:
    """Yield the lines of one series: title, values, what they say, what they propose."""
    told = told_of(series, units)
    yield title_of(series) + (f", {told.unit}" if told.unit else "")
    yield from wrapped(series.measure.about, "    ", "  ")
    for point in series.points:
        mark = {"action": "beyond an action limit", "warning": "beyond a warning limit"}.get(
            point.standing, ""
        )
        note = f"set aside: {point.aside}" if point.aside else mark
        width = told.number(point.uncertainty).lstrip("+")
        if told.kind == "temperature_difference":
            width = units.width(point.uncertainty, told.kind, told.decimals)
        shown = told.number(point.value)
        yield f"  {point.batch:<12} {point.day:<10} {shown:>8} ±{width:<6} {note}".rstrip()
    for label, words in facts(series, units):
        yield f"  {label}: {words}"
    for sentence in remarks(series, units):
        yield from wrapped(sentence, "    ", "  ")
    proposal = proposal_of(series)
    if proposal is not None:
        yield f"  Proposed for {series.measure.file}, to paste if you agree:"
        yield textwrap.indent(proposal_text(proposal, units), "    ")


def comparison_lines(comparison: GroupComparison, units: Units) -> Iterator[str]:
    """Yield the comparison of two yeasts or liquors as text."""
    a, b = comparison.a, comparison.b
    yield f"{a} and {b}, compared by {comparison.by}"
    for name, batches in ((a, comparison.batches_a), (b, comparison.batches_b)):
        yield from wrapped(f"{name}: {', '.join(batches)}", "    ", "  ")
    for line in comparison.lines:
        yield ""
        told = MeasureText(units, line.kind, line.decimals)
        means = [told.text(mean) for mean in (line.mean_a, line.mean_b)]
        yield line.title
        yield (f"  {a} {means[0]} (mean of {len(line.a)}), {b} {means[1]} (mean of {len(line.b)})")
        yield from wrapped(comparison_sentence(line, a, b, units), "    ", "  ")
    if comparison.tests:
        yield ""
        yield "Triangle tests"
        for test in comparison.tests:
            yield from wrapped(triangle_sentence(test), "    ", "  ")
    yield ""
    yield "Note"
    for sentence in caveats(comparison):
        yield from wrapped(sentence, "    ", "  ")


def _series_data(series: Series, units: Units) -> dict[str, Any]:
    chart, interval = series.chart, series.interval
    proposal = proposal_of(series)
    told = told_of(series, units)
    return {
        "measure": series.measure.key,
        "of": series.measure.of,
        "name": series.name,
        "kind": told.kind,
        "stated": series.stated,
        "count": len(series.counted),
        "mean": chart.centre if chart else None,
        "warning": list(chart.warning) if chart else None,
        "action": list(chart.action) if chart else None,
        "provisional": chart.provisional if chart else None,
        "next": [interval.low, interval.high] if interval else None,
        "coverage": interval.coverage if interval else None,
        "proposed": None
        if proposal is None
        else {
            "file": series.measure.file,
            "value": told.plain(proposal.value),
            "text": proposal_text(proposal, units),
        },
        "batches": [
            {
                "batch": p.batch,
                "brewed": p.day,
                "value": p.value,
                "U": p.uncertainty,
                "standing": p.standing or None,
                "set_aside": p.aside or None,
            }
            for p in series.points
        ],
    }


def _comparison_data(comparison: GroupComparison) -> dict[str, Any]:
    lines = []
    for line in comparison.lines:
        result = line.result
        lines.append(
            {
                "what": line.key,
                "a": dict(line.a),
                "b": dict(line.b),
                "difference": result.difference if result else line.mean_a - line.mean_b,
                "low": result.low if result else None,
                "high": result.high if result else None,
                "can_be_told": result.can_be_told if result else None,
                "not_compared": line.reason or None,
            }
        )
    return {
        "by": comparison.by,
        "a": comparison.a,
        "b": comparison.b,
        "lines": lines,
        "triangle_tests": [
            {
                "a": t.a,
                "b": t.b,
                "date": t.date,
                "assessors": t.assessors,
                "correct_responses": t.correct_responses,
                "p": t.p_value,
            }
            for t in comparison.tests
        ],
        "pairs": [
            {"a": p.a, "b": p.b, "difference": p.difference, "U": p.uncertainty}
            for p in comparison.pairs
        ],
    }
