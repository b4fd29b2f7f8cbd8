"""How far a long piece of work is, told on a terminal only."""

from __future__ import annotations

import sys
from collections.abc import Callable


def progress(word: str) -> Callable[[int, int], None]:
    """Return a function that tells how much is done of how much, on a terminal only."""
    if not sys.stderr.isatty():
        return lambda done, total: None

    def tell(done: int, total: int) -> None:
        end = "\n" if done == total else ""
        print(f"\r{done:>5} of {total} {word}", end=end, file=sys.stderr, flush=True)

    return tell
