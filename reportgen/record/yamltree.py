"""Text in YAML to a small tree of texts with positions; nothing is guessed.

Every scalar stays the text that was written; what it means is for the schema to say, or for
:func:`core`. Of YAML 1.2 only what a record needs is read: mappings, lists and scalars. Tags,
anchors, aliases, merge keys, directives and several documents in a file are refused, so that a
file means what it shows, and a small file cannot unfold to a huge one.
"""

from __future__ import annotations

import re

from reportgen.record.finding import Finding
from reportgen.record.source import MOST, Source
from reportgen.record.yamlcore import core
from reportgen.record.yamlnode import Mapping, Node, Scalar, Sequence, plain
from reportgen.record.yamlreader import read

__all__ = ["Mapping", "Node", "Scalar", "Sequence", "core", "parse", "plain"]


def parse(source: Source) -> tuple[Node | None, list[Finding]]:
    """Return the tree of a file, and everything about it that is not YAML for us.

    There is no tree when a part of it would be missing or uncertain. Where only a word is wrong
    (a key given twice: the first counts; a tag or an anchor: ignored) the tree comes with the
    findings, so that the rest can be checked too.
    """
    tree, findings, broken_at = read(source, source.text)
    if broken_at:
        tree = None
        findings += _later(source, broken_at)
    findings = _once(findings)
    findings.sort()
    return tree, findings


def _once(findings: list[Finding]) -> list[Finding]:
    kept: dict[tuple[int, str, int, int, str], Finding] = {}
    for finding in findings:
        kept.setdefault(finding.place, finding)
    return list(kept.values())


_LATER = MOST
"""Faults of syntax looked for after the first."""

_TOP = re.compile(r"^[A-Za-z_][\w .-]*:( |$)")


def _later(source: Source, line: int) -> list[Finding]:
    """Look on for faults after one that the parser cannot pass.

    The parser begins again at the next key that stands at the left margin. What it then finds is
    sound, except for keys given twice, which it can only see within the remaining part.
    """
    findings: list[Finding] = []
    broken_at = line
    while broken_at and len(findings) < _LATER:
        after = range(broken_at, len(source.lines))
        start = next((n for n in after if _TOP.match(source.lines[n])), None)
        if start is None:
            break
        rest = "\n" * start + "\n".join(source.lines[start:])
        _, faults, broken_at = read(source, rest)
        findings += faults
    return findings
