"""A comparison of batches as plain data, for a program."""

from __future__ import annotations

from typing import Any

from msgspec import to_builtins

from reportgen.history.difference import Difference
from reportgen.report.comparison_lines import ComparedSide


def as_data(sides: list[ComparedSide], difference: Difference) -> dict[str, Any]:
    """Return a comparison of two as plain data for JSON, numbers in base units."""
    return {
        "a": _side_data(sides[0]),
        "b": _side_data(sides[1]),
        "plan": [to_builtins(c) for c in difference.plan],
        "sections": list(difference.sections),
        "effects": [to_builtins(e) for e in difference.effects],
        "together": [to_builtins(e) for e in difference.together],
        "results": [
            {**to_builtins(r), "difference": r.difference, "can_be_told": r.can_be_told}
            for r in difference.results
        ],
        "deviations": [list(d) for d in difference.deviations],
        "scores": [to_builtins(s) for s in difference.scores],
        "evenings": list(difference.evenings),
        "triangles": [to_builtins(t) for t in difference.triangles],
        "within": [{"figure": pair.figure, "of": pair.of} for pair in difference.within],
        "common": list(difference.common),
    }


def _side_data(side: ComparedSide) -> dict[str, Any]:
    record = side.assessment.record
    return {
        "batch": str(record.batch),
        "name": str(record.name),
        "file": side.assessment.batch.file,
        "plan_hash": side.assessment.batch.plan_hash,
        "revision": side.revision.commit if side.revision else None,
    }
