"""``check``: validate and run every check; findings for a person, a program, an editor or CI."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

from msgspec.structs import replace

from reportgen.archive.checked import checked, checked_unsaved
from reportgen.archive.schemas import keep_names, state_of
from reportgen.checks.base import all_checks, names
from reportgen.record.failure import EXIT, RULE
from reportgen.record.finding import Finding, Severity, render_text, visible
from reportgen.record.listing import BREWERY, STOCK, lies_in, record_names
from reportgen.verbs.progress import progress
from reportgen.verbs.where import STDIN, loaded, name_below, named_below, root_of, shown


def run(arguments: argparse.Namespace) -> int:
    """Print the findings; return 1 when one is as severe as asked for, else 0.

    3 when the tool itself failed on a record.
    """
    if STDIN in arguments.path:
        archive, (path,) = loaded(arguments.path, names())
        root = archive.root
        outcome = checked_unsaved(archive, name_below(root, path), progress("looked at"))
    else:
        root = root_of(arguments.path)
        named = named_below(root, arguments.path)
        outcome = checked(root, named, keep=not _before_commit(), progress=progress("looked at"))
    findings, batches = outcome.findings, outcome.batches
    _print(findings, root, arguments.format, arguments.colour)
    if arguments.format == "text":
        sys.stdout.flush()
        print(summary(findings, batches), file=sys.stderr)
        tend_editor(root, files_named(root, arguments.path))
    if any(finding.rule == RULE for finding in findings):
        return EXIT
    least = Severity(arguments.fail_on)
    return 1 if any(finding.severity >= least for finding in findings) else 0


def _print(findings: Sequence[Finding], root: Path, form: str, colour: bool) -> None:
    if form == "json":
        from reportgen.archive.published import finding_line

        for finding in findings:
            print(finding_line(finding))
        return
    if form == "sarif":
        from reportgen.verbs.sarif import sarif

        pages = {name: check.page for name, check in all_checks().items()}
        print(sarif([_named(f, from_repository(root, f)) for f in findings], pages))
        return
    if form == "annotations":
        from reportgen.verbs.annotations import annotation

        for finding in findings:
            print(annotation(_named(finding, from_repository(root, finding))))
        return
    width = screen_width()
    for finding in findings:
        here = _named(finding, shown(root / finding.position.file))
        print(render_text(here, colour=colour, width=width))
        print()


def _before_commit() -> bool:
    """Whether this is a hook before a commit, which writes nothing: git would take it for a change.
    """
    return bool(os.environ.get("PRE_COMMIT"))


def files_named(root: Path, paths: Sequence[str]) -> list[str]:
    """Return the files of an archive that the paths name, to look at their first lines."""
    if STDIN in paths:
        return []
    house = [name for name in (BREWERY, STOCK) if (root / name).is_file()]
    named = named_below(root, paths)
    return [n for n in (*house, *record_names(root)) if named is None or lies_in(n, named)]


def tend_editor(root: Path, files: Sequence[str]) -> None:
    """Keep the names that an editor offers, and say when its schemas are old or not found.

    It is not a finding: nothing that is computed hangs on it. A hook before a commit writes
    nothing, since git would take the commit for changed.
    """
    if not _before_commit():
        keep_names(root)
    if said := state_of(root, files).words:
        print(visible(said), file=sys.stderr)


def screen_width() -> int | None:
    """Return the columns of the terminal; None where what is printed goes elsewhere."""
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else None


def _named(finding: Finding, file: str) -> Finding:
    return replace(finding, position=replace(finding.position, file=file))


def from_repository(root: Path, finding: Finding) -> str:
    """Return the file of a finding as the code host knows it: from where the repository begins.

    Without a repository it is named from the archive.
    """
    top = next((folder for folder in (root, *root.parents) if (folder / ".git").exists()), root)
    return (root / finding.position.file).relative_to(top).as_posix()


def counted(number: int, severity: Severity) -> str:
    """Return a number of findings in words: ``2 errors``, ``1 note``, ``3 major``."""
    is_noun = severity in (Severity.ERROR, Severity.NOTE)
    return f"{number} {severity.value}{'s' if is_noun and number != 1 else ''}"


def summary(findings: Sequence[Finding], batches: int) -> str:
    """Return one line that counts the findings by severity, the worst first."""
    counts = {
        severity: sum(finding.severity is severity for finding in findings)
        for severity in reversed(Severity)
    }
    told = ", ".join(counted(n, severity) for severity, n in counts.items() if n)
    many = f"{batches} batch" if batches == 1 else f"{batches} batches"
    return f"{many}: {told or 'nothing found'}"
