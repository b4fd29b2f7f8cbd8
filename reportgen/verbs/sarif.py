"""Findings as SARIF 2.1.0, the form in which code hosts and editors take the findings of a tool.

OASIS Standard "Static Analysis Results Interchange Format (SARIF) Version 2.1.0", 27 March 2020.
Paragraphs of it are cited where they decide something.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from reportgen import __version__
from reportgen.checks.base import CheckPage
from reportgen.record.finding import Finding, Severity
from reportgen.record.rules import RULES

SCHEMA = "https://json.schemastore.org/sarif-2.1.0.json"

LEVELS = {
    Severity.NOTE: "note",
    Severity.MINOR: "warning",
    Severity.MAJOR: "warning",
    Severity.CRITICAL: "error",
    Severity.ERROR: "error",
}
"""§3.27.10 knows four levels; our own word stands in the property bag of each result."""


def sarif(findings: Sequence[Finding], pages: Mapping[str, CheckPage]) -> str:
    """Return findings as one SARIF log.

    ``pages`` are the manual pages of the checks; a rule that has none is one of the loader. File
    names are relative to where the repository begins.
    """
    rules = sorted({finding.rule for finding in findings})
    driver = {
        "name": "reportgen",
        "version": __version__,
        "rules": [_rule(name, pages.get(name)) for name in rules],
    }
    run = {
        "tool": {"driver": driver},
        # §3.14.27: our columns count characters, not the units of UTF-16.
        "columnKind": "unicodeCodePoints",
        "results": [_result(finding, rules.index(finding.rule)) for finding in findings],
    }
    log = {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}
    return json.dumps(log, ensure_ascii=False, indent=1)


def _rule(name: str, page: CheckPage | None) -> dict[str, Any]:
    if page is None:
        rule = RULES[name]
        return {
            "id": name,
            "shortDescription": {"text": rule.title},
            "fullDescription": {"text": rule.text},
            "help": {"text": f"Fix: {rule.fix}."},
            "defaultConfiguration": {"level": LEVELS[rule.severity]},
            "properties": {"severity": rule.severity.value, "group": rule.about.value},
        }
    return {
        "id": name,
        "shortDescription": {"text": page.title},
        "fullDescription": {"text": " ".join(page.text.split())},
        "help": {"text": f"Fix: {page.fix}.\nSource: {page.source}."},
        "defaultConfiguration": {"level": LEVELS[page.severity]},
        "properties": {"severity": page.severity.value, "group": page.group.value},
    }


def _result(finding: Finding, index: int) -> dict[str, Any]:
    place = finding.position
    told = [f"{finding.message}."]
    if finding.expected:
        told.append(f"Expected: {finding.expected}.")
    if finding.remedy:
        told.append(f"Fix: {finding.remedy}.")
    region: dict[str, Any] = {
        "startLine": place.line,
        "startColumn": place.column,
        # §3.30.8: the column after the last one, as ours is.
        "endColumn": place.end_column,
    }
    if finding.line:
        region["snippet"] = {"text": finding.line}
    # §3.4.3: a reference relative to the top of the repository.
    location = {"artifactLocation": {"uri": quote(place.file)}, "region": region}
    return {
        "ruleId": finding.rule,
        "ruleIndex": index,
        "level": LEVELS[finding.severity],
        "message": {"text": " ".join(told)},
        "locations": [{"physicalLocation": location}],
        "partialFingerprints": {"finding/v1": _fingerprint(finding)},
        "properties": {"severity": finding.severity.value},
    }


def _fingerprint(finding: Finding) -> str:
    """Return what stays the same when lines are put in above the finding (§3.27.17)."""
    parts = (finding.position.file, finding.rule, finding.line.strip(), finding.message)
    return hashlib.sha256("\0".join(parts).encode("utf-8", "replace")).hexdigest()[:32]
