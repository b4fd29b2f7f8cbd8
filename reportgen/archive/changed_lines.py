"""The lines that differ between two texts of one record, to be shown."""

from __future__ import annotations

import difflib

from msgspec import Struct


class ChangedLines(Struct, frozen=True):
    """How many lines differ, and the first of them: ``-`` before, ``+`` after."""

    count: int
    shown: tuple[str, ...]


def changed_lines(before: bytes, after: bytes, most: int) -> ChangedLines:
    """Return the lines that differ between two texts; at most ``most`` of them are shown."""
    old, new = (data.decode("utf-8", "replace").splitlines() for data in (before, after))
    # The first two lines name the files; those of @@ the places.
    lines = [
        line
        for number, line in enumerate(difflib.unified_diff(old, new, n=0, lineterm=""))
        if number > 1 and not line.startswith("@@")
    ]
    shown = lines[:most]
    if len(lines) > most:
        shown.append(f"... and {len(lines) - most} lines more")
    return ChangedLines(len(lines), tuple(shown))
