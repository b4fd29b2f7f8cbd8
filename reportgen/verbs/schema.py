"""``schema``: writes the schemas that an editor reads into the archive, and the lines to them."""

from __future__ import annotations

import argparse
import sys

from reportgen.archive.schemas import set_line, write_schemas
from reportgen.record.listing import BREWERY, STOCK, record_names
from reportgen.verbs.where import root_of, shown


def run(arguments: argparse.Namespace) -> int:
    """Renew what is old and print the path of each file that changed; nothing else changes."""
    root = root_of([arguments.folder] if arguments.folder else [])
    written = write_schemas(root)
    files = [name for name in (BREWERY, STOCK) if (root / name).is_file()]
    written += [name for name in (*files, *record_names(root)) if set_line(root, name)]
    for name in written:
        print(shown(root / name))
    if not written:
        print("nothing to renew", file=sys.stderr)
    return 0
