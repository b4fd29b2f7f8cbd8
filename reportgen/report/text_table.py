"""Tables for a terminal: columns as wide as their cells, unless a line would be too long."""

from __future__ import annotations

import functools
import textwrap
from collections.abc import Collection, Iterator, Sequence
from itertools import zip_longest

WIDTH = 96
"""Letters in a line."""

LEAST = 14
"""Letters that a column of words keeps."""


def wrapped(text: str, behind: str = "      ", before: str = "") -> list[str]:
    """Return a text as lines; ``before`` begins the first of them, ``behind`` all others.

    No word is broken: a batch id or a lot could not be searched for.
    """
    return _lines(text, WIDTH, initial_indent=before, subsequent_indent=behind)


_lines = functools.partial(textwrap.wrap, break_on_hyphens=False, break_long_words=False)


def text_table(
    rows: Sequence[Sequence[str]], right: Collection[int] = (), indent: str = "  "
) -> Iterator[str]:
    """Yield rows, the head first, as lines; the columns ``right`` are set to the right.

    Where they are too wide, columns of words are broken, the widest first.
    """
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    words = [n for n in range(len(widths)) if n not in right]
    while len(indent) + sum(widths) + 2 * len(widths) - 2 > WIDTH:
        wide = max(words, key=lambda n: widths[n], default=0)
        if wide not in words or widths[wide] <= LEAST:
            break
        widths[wide] -= 1
    for row in rows:
        broken = (
            _lines(cell, width) if len(cell) > width else [cell]
            for cell, width in zip(row, widths, strict=True)
        )
        for line in zip_longest(*broken, fillvalue=""):
            cells = (
                cell.rjust(width) if n in right else cell.ljust(width)
                for n, (cell, width) in enumerate(zip(line, widths, strict=True))
            )
            yield f"{indent}{'  '.join(cells)}".rstrip()
