"""How far a long piece of work is: on a terminal only, in a line that is taken away again."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Iterator
from typing import TextIO

_shown = 0
"""Columns of the line that stands there now."""


def is_terminal(stream: TextIO) -> bool:
    """Whether a stream is a terminal that can do more than print one line after the other."""
    return stream.isatty() and os.environ.get("TERM") != "dumb"


def wants_colour(stream: TextIO) -> bool:
    """Whether a stream is to be coloured where nobody said so."""
    return is_terminal(stream) and not os.environ.get("NO_COLOR")


def progress(word: str) -> Callable[[int, int], None]:
    """Return a function that tells how much is done of how much; when all is, nothing stays."""
    if not is_terminal(sys.stderr):
        return lambda done, total: None

    def tell(done: int, total: int) -> None:
        global _shown
        if done == total:
            _clear()
            return
        text = f"{done:>5} of {total} {word}"
        print(f"\r{text.ljust(_shown)}", end="", file=sys.stderr, flush=True)
        _shown = len(text)

    return tell


def _clear() -> None:
    global _shown
    if _shown:
        print(f"\r{' ' * _shown}\r", end="", file=sys.stderr, flush=True)
        _shown = 0


@contextlib.contextmanager
def cleared() -> Iterator[None]:
    """Take the line away at the end, however that comes: what is said next begins a line."""
    try:
        yield
    finally:
        _clear()
