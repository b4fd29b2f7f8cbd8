"""Text cut to the room it has, with an ellipsis, before it is set.

A stylesheet can cut what overflows, but the page then has text that nobody sees: the layout
library writes the tail that was cut in place of the ellipsis, so that what is copied from the PDF
or searched in it is not what was printed. So a text is measured in the typeface and cut here.
"""

from __future__ import annotations

from functools import lru_cache

from reportgen.report.fonts import measure, printable

ELLIPSIS = "…"
MM = 25.4 / 72
"""Millimetres in a point."""

SLACK = 0.3
"""Room left for what the layout rounds, mm."""

BETWEEN = 0.5
"""Width of the space (U+2002) between a text and what stands before it, in ems."""


@lru_cache(maxsize=4096)
def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return how wide a text is when printed on one line, mm. ``size`` is that of the type, pt."""
    return measure(printable(text), bold) * size * MM


@lru_cache(maxsize=4096)
def fit(
    text: str, width: float, size: float, bold: bool = False, before: str = "", lines: int = 1
) -> str:
    """Return a text that has room on so many lines, cut with an ellipsis where it must be.

    ``width`` is that of a line in mm, ``size`` of the type in points. ``before`` is what stands
    before the text on its line, in bold, with an en space between. Empty when there is no room for
    a letter.
    """
    room = width - SLACK
    if before:
        room -= width_of(before, size, True) + BETWEEN * size * MM
    if _has_room(text, room, size, bold, lines):
        return text
    shortest, longest = 0, len(text)
    while shortest < longest:
        middle = (shortest + longest + 1) // 2
        if _has_room(_cut(text, middle), room, size, bold, lines):
            shortest = middle
        else:
            longest = middle - 1
    if lines > 1 and text[shortest : shortest + 1].strip():
        # Prose ends with a whole word.
        shortest = text.rfind(" ", 0, shortest) if " " in text[:shortest] else shortest
    return _cut(text, shortest) if shortest > 0 else ""


def lines_of(text: str, width: float, size: float, bold: bool = False) -> int:
    """Return on how many lines of a width, mm, a text is set; it is broken at spaces."""
    count = 1
    while count < MOST_LINES and not _has_room(text, width - SLACK, size, bold, count):
        count += 1
    return count


MOST_LINES = 40
"""Lines after which a text is one that has no room at all."""


def _cut(text: str, letters: int) -> str:
    return text[:letters].rstrip(" ,;:-–—") + ELLIPSIS


def _has_room(text: str, room: float, size: float, bold: bool, lines: int) -> bool:
    """Whether a text fits. It is broken at spaces only: other breaks can but save room."""
    used, line = 1, ""
    for word in text.split(" ") if lines > 1 else (text,):
        longer = f"{line} {word}" if line else word
        if width_of(longer, size, bold) <= room:
            line = longer
            continue
        used, line = used + 1, word
        if used > lines or not longer.strip() or width_of(word, size, bold) > room:
            return False
    return True
