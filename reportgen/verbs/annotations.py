"""Findings as annotations of a CI run: one workflow command a line, shown beside the line meant.

The form is that of GitHub's documentation, "Workflow commands": ``::error file=…,line=…,col=…::``;
the escapes are those of its own ``actions/toolkit`` (packages/core/src/command.ts). Other CI
services show the lines as they are.
"""

from __future__ import annotations

from reportgen.record.finding import Finding, Severity, visible

LEVELS = {
    Severity.NOTE: "notice",
    Severity.MINOR: "warning",
    Severity.MAJOR: "warning",
    Severity.CRITICAL: "error",
    Severity.ERROR: "error",
}


def _value(text: str) -> str:
    """Return what stands after the last ``::``, with every character that would end it escaped."""
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _value(text).replace(":", "%3A").replace(",", "%2C")


def annotation(finding: Finding) -> str:
    """Return a finding as a workflow command; columns count from 1, the last one is inside."""
    place = finding.position
    properties = {
        "file": place.file,
        "line": str(place.line),
        "col": str(place.column),
        "endColumn": str(max(place.column, place.end_column - 1)),
        "title": f"{finding.severity.value}: {finding.rule}",
    }
    told = [finding.message]
    if finding.expected:
        told.append(f"expected: {finding.expected}")
    if finding.remedy:
        told.append(f"fix: {finding.remedy}")
    head = ",".join(f"{name}={_property(visible(text))}" for name, text in properties.items())
    return f"::{LEVELS[finding.severity]} {head}::{_value(chr(10).join(map(visible, told)))}"
