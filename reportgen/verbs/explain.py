"""``explain``: prints the manual page of a check."""

from __future__ import annotations

import argparse
import textwrap

from reportgen.checks.base import CheckPage, all_checks
from reportgen.record.suggest import did_you_mean
from reportgen.verbs.where import Misuse


def text_of(page: CheckPage) -> str:
    """Return a manual page as text."""
    parts = [
        f"{page.name} ({page.weight}) - {page.group.value}",
        f"{page.title}.",
        page.text,
        f"Fix: {page.fix}.",
        *([f"Afterwards: {page.afterwards}."] if page.afterwards else []),
        f"Source: {page.source}.",
        "Passes:\n" + textwrap.indent(page.passes, "    "),
        "Fails:\n" + textwrap.indent(page.fails, "    "),
        f"To silence it in one record, with a reason:\n"
        f"    review:\n      silenced:\n        - {{check: {page.name}, because: ...}}",
    ]
    return "\n\n".join(parts)


def run(arguments: argparse.Namespace) -> int:
    """Print one page, or the list of all."""
    checks = all_checks()
    if arguments.name is None:
        for name, check in checks.items():
            print(f"{name:32} {check.page.severities:14} {check.page.title}")
        return 0
    if arguments.name not in checks:
        hint = did_you_mean(arguments.name, list(checks)) or "reportgen explain lists them all."
        raise Misuse(f"no check `{arguments.name}`. {hint}")
    print(text_of(checks[arguments.name].page))
    return 0
