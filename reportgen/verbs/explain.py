"""``explain``: prints the manual page of a check, or of a rule that the loader holds files to."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Iterator

from reportgen.checks.base import CheckPage, Group, all_checks
from reportgen.record.failure import Misuse
from reportgen.record.rules import RULES, Rule, RuleGroup, shown
from reportgen.record.suggest import did_you_mean


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


def text_of_rule(rule: Rule) -> str:
    """Return the page of a rule of the loader as text."""
    parts = [
        f"{rule.name} ({rule.severity.value}) - {rule.about.value}",
        f"{rule.title}.",
        rule.text,
        f"Fix: {rule.fix}.",
    ]
    if rule.passes:
        parts += [
            "Passes:\n" + textwrap.indent(shown(rule.passes), "    "),
            "Fails:\n" + textwrap.indent(shown(rule.fails), "    "),
        ]
    return "\n\n".join(parts)


def _listed() -> Iterator[str]:
    """Yield each stage of the work with its checks, then what the files are held to."""
    checks = [check.page for check in all_checks().values()]
    for group in Group:
        own = [f"  {p.name:30} {p.severities:14} {p.title}" for p in checks if p.group is group]
        yield "\n".join([group.value, *own])
    for about in RuleGroup:
        rules = [
            f"  {name:30} {rule.severity.value:14} {rule.title}"
            for name, rule in sorted(RULES.items()) if rule.about is about
        ]
        yield "\n".join([about.value, *rules])


def run(arguments: argparse.Namespace) -> int:
    """Print one page, or the list of all by the stage of the work."""
    checks = all_checks()
    if arguments.name is None:
        print("\n\n".join(_listed()))
        return 0
    if arguments.name in checks:
        print(text_of(checks[arguments.name].page))
    elif arguments.name in RULES:
        print(text_of_rule(RULES[arguments.name]))
    else:
        known = [*checks, *RULES]
        word = arguments.name.lower().replace("_", "-")
        having = ", ".join(name for name in known if word in name)
        hint = did_you_mean(arguments.name, known) or (
            f"those with it in their name: {having}" if having and len(word) > 2
            else "`reportgen explain` lists them all"
        )
        raise Misuse(f"no check `{arguments.name}`; {hint}")
    return 0
