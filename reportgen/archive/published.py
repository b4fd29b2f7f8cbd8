"""What other programs read, as JSON Schemas: findings, figures, the table of the whole archive.

``python -m reportgen.archive.published`` writes them into ``schema/``; a test compares. They are
kept to as the format of the record is: within a format number a key may be added, never renamed,
taken away or given another meaning or unit.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from reportgen.archive.interchange import ABOUT, FORMAT, columns
from reportgen.assessment.verdicts import Verdict
from reportgen.record.describe import DRAFT
from reportgen.record.finding import Finding, Severity

FINDINGS_FORMAT = 1
"""Version of the lines of ``check --format json``."""

_NUMBER = {"type": ["number", "null"]}


def finding_line(finding: Finding) -> str:
    """Return a finding as one line of JSON, in ASCII."""
    place = finding.position
    return json.dumps(
        {
            "format": FINDINGS_FORMAT,
            "file": place.file,
            "line": place.line,
            "column": place.column,
            "end_line": place.line,
            "end_column": place.end_column,
            "rule": finding.rule,
            "severity": finding.severity.value,
            "message": finding.message,
            "expected": finding.expected,
            "remedy": finding.remedy,
        }
    )


def _about(kind: str, description: str, **more: Any) -> dict[str, Any]:
    return {"type": kind, "description": description, **more}


def findings_schema() -> dict[str, Any]:
    """Return the schema of one line of ``check --format json``."""
    properties = {
        "format": {"const": FINDINGS_FORMAT, "description": "Version of this form."},
        "file": _about("string", "File, relative to the archive, with forward slashes."),
        "line": _about("integer", "Line, from 1.", minimum=1),
        "column": _about("integer", "First column in characters, from 1.", minimum=1),
        "end_line": _about("integer", "Line of the end; the same line.", minimum=1),
        "end_column": _about("integer", "First column after the place.", minimum=1),
        "rule": _about("string", "Name of the rule; `reportgen explain NAME` explains a check."),
        "severity": {
            "enum": [severity.value for severity in Severity],
            "description": "How much it weighs; error is input that cannot be used.",
        },
        "message": _about("string", "What is wrong, as in the text form."),
        "expected": _about("string", "What was expected; may be empty."),
        "remedy": _about("string", "One way to fix it; may be empty."),
    }
    return _object("A finding: one line of check --format json", properties)


def figures_schema() -> dict[str, Any]:
    """Return the schema of ``figures --format json``; the CSV has the same columns in order."""
    verdicts = [verdict.value for verdict in Verdict]
    properties = {
        "batch": _about("string", "Batch id."),
        "key": _about("string", "Name of the figure, as in the manual's list of figures."),
        "stage": _about("string", "Stage of the work."),
        "unit": _about("string", "Base unit; empty for a number without one."),
        "expected": {**_NUMBER, "description": "Expected by the plan."},
        "low": {**_NUMBER, "description": "Lower limit of the tolerance."},
        "high": {**_NUMBER, "description": "Upper limit of the tolerance."},
        "actual": {**_NUMBER, "description": "As read and corrected, or derived from readings."},
        "U": {**_NUMBER, "description": "Uncertainty of the actual, k = 2."},
        "verdict": {"enum": [*verdicts, None], "description": "Verdict on the actual."},
        "method": _about("string", "Calculation or origin of the expected value."),
    }
    properties["of"] = _about(
        "string", "Other containers that it is of, where part of the beer went into such."
    )
    properties["method"]["type"] = properties["of"]["type"] = ["string", "null"]
    item = _object("A figure of a batch", properties)
    schema = item.pop("$schema")
    return {"$schema": schema, "title": "Figures: figures --format json", "type": "array",
            "items": item}  # fmt: skip


def ledger_schema() -> dict[str, Any]:
    """Return the schema of ``build/ledger.json``; ``ledger.csv`` has its columns in order."""
    value = {"type": ["string", "number", "integer", "null"]}
    named = {
        column.name: {
            **value,
            "description": f"{column.description}{f' Unit: {column.unit}.' if column.unit else ''}",
        }
        for column in columns()
    }
    batch = _object("A batch", named)
    batch.pop("$schema")
    text = {"type": "string"}
    column = {"type": "object", "required": ["name", "unit", "description"]}
    properties = {
        "format": {"const": FORMAT, "description": "Version of the columns."},
        "tool": text,
        "house": text,
        "about": {**text, "description": ABOUT},
        "columns": {"type": "array", "items": column},
        "batches": {"type": "array", "items": batch},
    }
    return _object("The whole archive: ledger.json", properties)


def _object(title: str, properties: dict[str, Any]) -> dict[str, Any]:
    return {
        "$schema": DRAFT,
        "title": title,
        "type": "object",
        "required": list(properties),
        "properties": properties,
    }


SCHEMAS = {"findings": findings_schema, "figures": figures_schema, "ledger": ledger_schema}


def render(name: str) -> str:
    """Return the text of one published schema."""
    return json.dumps(SCHEMAS[name](), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    for name in SCHEMAS:
        path = Path(__file__).parents[2] / "schema" / f"{name}.json"
        path.write_text(render(name), encoding="utf-8")
