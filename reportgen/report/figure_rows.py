"""The figures of a batch as rows: for a table, for CSV and JSON.

The JSON also has the steps from plan to glass.
"""

from __future__ import annotations

import math
from typing import Any

from reportgen.assessment.assess import Assessment
from reportgen.assessment.explained import explain
from reportgen.assessment.replay import rounded_steps
from reportgen.assessment.results import Result
from reportgen.forecast.figures import FIGURES, OUTCOMES
from reportgen.record.kinds import KINDS

COLUMNS = (
    "batch", "key", "stage", "unit", "expected", "low", "high", "actual", "U", "verdict", "method",
    "of",
)


def row_in_base_units(batch: Assessment, result: Result) -> dict[str, Any]:
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
    return row_in_base_units(batch, result) | shown


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
