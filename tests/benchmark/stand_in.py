"""``build`` with one page in place of every PDF: what it reads, judges and keeps, without layout.

    python tests/benchmark/stand_in.py ARCHIVE

For measuring what a build costs after one change in a large archive, whose first build would take
hours: what a build is made from stands in its state, so the next one takes these files for its own.
"""

from __future__ import annotations

import sys
from typing import Any

from reportgen.cli import main
from reportgen.report import pdf

SIZE = 60_000
"""Bytes of a document, about those of a sheet: they are read to see that the file is whole."""


def _page(*_: Any, **__: Any) -> bytes:
    return b"%PDF-1.7\n" + b"%" * SIZE


if __name__ == "__main__":
    pdf.pdf = _page
    sys.exit(main(["build", *sys.argv[1:]]))
