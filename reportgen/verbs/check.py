"""``check``: validate and run every check."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from reportgen.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.record.finding import Finding, render_json, render_text
from reportgen.record.load import Archive, load_archive
from reportgen.verbs.where import files_wanted, root_of


def findings_in(archive: Archive, files: set[str] | None = None) -> list[Finding]:
    """Return all findings of an archive, or those of some files, in order of position."""
    found = list(archive.findings)
    for batch in archive.batches.values():
        if files is not None and batch.file not in files:
            continue
        assessment = assess(archive, batch)
        if assessment is not None:
            found += run_checks(assessment)
    if files is not None:
        found = [f for f in found if f.position.file in files]
    return sorted(set(found))


def run(arguments: argparse.Namespace) -> int:
    """Print the findings; return 0 when there is none, else 1."""
    root = root_of(arguments.path)
    archive = load_archive(root, names())
    files = files_wanted(archive, arguments.path)
    findings = findings_in(archive, files)
    if arguments.format == "json":
        for finding in findings:
            print(render_json(finding))
        return 1 if findings else 0
    for finding in findings:
        print(render_text(finding, colour=arguments.colour))
        print()
    print(summary(findings, len(archive.batches)), file=sys.stderr)
    return 1 if findings else 0


def summary(findings: list[Finding], batches: int) -> str:
    """Return one line that counts the findings by severity."""
    counts: dict[str, int] = {}
    for finding in findings:
        counts[finding.severity.value] = counts.get(finding.severity.value, 0) + 1
    told = ", ".join(f"{n} {word}" for word, n in sorted(counts.items())) or "nothing found"
    return f"{batches} batches: {told}"


def shown(path: Path) -> str:
    """Return a path as the user would type it from here."""
    try:
        return path.relative_to(Path.cwd()).as_posix()
    except ValueError:
        return path.as_posix()
