"""What is wrong with an input, and where: the one shape that every part of the reader answers in.

Findings are collected first and rendered afterwards, as text for a person or as one JSON object a
line for a program.
"""

from __future__ import annotations

import enum
import unicodedata
from collections.abc import Iterable

from msgspec import Struct


class Severity(enum.StrEnum):
    """How much a finding or a deviation weighs, in rising order.

    ERROR is input that cannot be used; no deviation is one.
    """

    NOTE = "note"
    MINOR = "minor"
    MAJOR = "major"
    CRITICAL = "critical"
    ERROR = "error"

    @property
    def rank(self) -> int:
        """Place in the order, 0 for NOTE."""
        return list(Severity).index(self)

    def __lt__(self, other: object) -> bool:
        return self.rank < other.rank if isinstance(other, Severity) else NotImplemented

    def __le__(self, other: object) -> bool:
        return self.rank <= other.rank if isinstance(other, Severity) else NotImplemented

    def __gt__(self, other: object) -> bool:
        return self.rank > other.rank if isinstance(other, Severity) else NotImplemented

    def __ge__(self, other: object) -> bool:
        return self.rank >= other.rank if isinstance(other, Severity) else NotImplemented


class Position(Struct, frozen=True):
    """A stretch of one line of a file.

    ``file`` is relative to the archive, with forward slashes. ``line``, ``column`` and
    ``end_column`` count from 1, columns in characters; ``end_column`` is the first column after
    the stretch, so an empty stretch has ``end_column == column``.
    """

    file: str
    line: int
    column: int
    end_column: int


class Finding(Struct, frozen=True):
    """One thing that is wrong.

    ``message`` says what is wrong, ``expected`` what was expected, ``remedy`` one way to fix it;
    ``line`` is the text of the source line, for showing.
    """

    rule: str
    severity: Severity
    position: Position
    message: str
    expected: str = ""
    remedy: str = ""
    line: str = ""

    @property
    def place(self) -> tuple[int, str, int, int, str]:
        """Key of the order in which findings are shown: file, line, column, rule.

        What is critical comes before all else, and of that a vessel that may burst.
        """
        urgency = 2
        if self.severity is Severity.CRITICAL:
            urgency = 0 if self.rule.startswith(("pressure-", "too-much-priming")) else 1
        where = self.position
        return (urgency, where.file, where.line, where.column, self.rule)

    def __lt__(self, other: object) -> bool:
        if not isinstance(other, Finding):
            return NotImplemented
        # Two batches may say the same of one line: their words keep one order every time.
        return (self.place, self.message, self.remedy) < (
            other.place, other.message, other.remedy
        )  # fmt: skip


def once(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings in their order; of what is said twice of one place, the heaviest."""
    best: dict[tuple[str, Position, str], Finding] = {}
    for one in findings:
        other = best.setdefault((one.rule, one.position, one.message), one)
        if one.severity > other.severity or (one.severity is other.severity and one < other):
            best[one.rule, one.position, one.message] = one
    return sorted(best.values())


WIDTH = 100
"""Columns used when the caller does not know the width of the screen."""

_TAB = "    "
_RESET = "\x1b[0m"
_BOLD = "\x1b[1m"
_COLOURS = {
    Severity.NOTE: "\x1b[36m",
    Severity.MINOR: "\x1b[33m",
    Severity.MAJOR: "\x1b[33;1m",
    Severity.CRITICAL: "\x1b[31;1m",
    Severity.ERROR: "\x1b[31;1m",
}


def visible(text: str) -> str:
    """Return a text with every control, bidi and other invisible character written as an escape.

    A joiner inside an emoji or a script that needs it stays.
    """
    return "".join(_shown(character) for character in text)


def _shown(character: str) -> str:
    if character == "\t":
        return _TAB
    if character.isprintable() or character in "\u200c\u200d":
        return character
    if unicodedata.category(character) == "Zs":
        return " "
    code = ord(character)
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def _cells(shown: str) -> int:
    """Return how many columns a shown text takes on a terminal."""
    total = 0
    for character in shown:
        if unicodedata.category(character) in ("Mn", "Me", "Cf"):
            continue
        total += 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1
    return total


def _excerpt(line: str, column: int, end_column: int, width: int) -> tuple[str, str]:
    """Return the part of a line that fits into ``width`` columns, and the mark below it."""
    pieces = [_shown(character) for character in line]
    cells = [_cells(piece) for piece in pieces]
    start = min(max(column - 1, 0), len(pieces))
    end = min(max(end_column - 1, start), len(pieces))
    first, last = 0, len(pieces)
    if sum(cells) > width:
        # Keep the start of the marked stretch in view, a third of the way in.
        room = max(width - 2, 1)
        first, used = start, 0
        while first > 0 and used + cells[first - 1] <= room // 3:
            first -= 1
            used += cells[first]
        last = start
        if start < len(pieces):
            used += cells[start]
            last += 1
        while last < len(pieces) and used + cells[last] <= room:
            used += cells[last]
            last += 1
        while last == len(pieces) and first > 0 and used + cells[first - 1] <= room:
            first -= 1
            used += cells[first]
        while 0 < first < start and cells[first] == 0:
            # A combining mark is not shown without its letter.
            first += 1
    before = "…" if first > 0 else ""
    after = "…" if last < len(pieces) else ""
    shown = before + "".join(pieces[first:last]) + after
    lead = len(before) + sum(cells[first:start])
    marked = max(sum(cells[start : min(end, last)]), 1)
    return shown, " " * lead + "^" * marked


def render_text(finding: Finding, colour: bool = False, width: int | None = None) -> str:
    """Return a finding for a person: where and what, the line with a mark under it, how to fix.

    ``width`` is the number of columns of the screen (100 if not given); a longer source line is
    shown in part, with … where it was cut. With ``colour`` the text has ANSI colour codes.
    """
    paint = _COLOURS[finding.severity] if colour else ""
    bold = _BOLD if colour else ""
    reset = _RESET if colour else ""
    position = finding.position
    where = f"{visible(position.file)}:{position.line}:{position.column}:"
    severity = finding.severity.value
    rows = [
        f"{bold}{where}{reset} {paint}{severity}:{reset} "
        f"{visible(finding.message)} [{visible(finding.rule)}]"
    ]
    if finding.line.strip():
        indent = "    "
        room = max((width or WIDTH) - len(indent), 10)
        shown, mark = _excerpt(finding.line, position.column, position.end_column, room)
        rows += [indent + shown, f"{indent}{paint}{mark}{reset}"]
    if finding.expected:
        rows.append(f"  expected: {visible(finding.expected)}")
    if finding.remedy:
        rows.append(f"  fix: {visible(finding.remedy)}")
    return "\n".join(rows)


def in_error(findings: Iterable[Finding]) -> list[str]:
    """Return the files that have an error, so that a value of theirs is missing."""
    return sorted({f.position.file for f in findings if f.severity is Severity.ERROR})
