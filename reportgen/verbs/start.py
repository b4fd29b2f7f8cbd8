"""``start``: begins an archive, with files to fill in; touches nothing that is there."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from reportgen.archive.write import create_new
from reportgen.record.listing import BREWERY, STOCK, find_root
from reportgen.resources import schema_dir, templates_dir
from reportgen.verbs.check import shown
from reportgen.verbs.where import Misuse

WORKFLOW = ".github/workflows/batches.yml"

IGNORED = "# What reportgen writes; it can always be made again.\nbuild/\n"


def run(arguments: argparse.Namespace) -> int:
    """Write the files and print the path of each. Misuse when there is an archive already."""
    root = Path(arguments.folder)
    if root.exists() and not root.is_dir():
        raise Misuse(f"{arguments.folder}: not a folder")
    around = find_root(root if root.is_dir() else root.resolve().parent)
    if around is not None:
        raise Misuse(f"{arguments.folder}: an archive is there already, in {around}")
    files = files_for(root, arguments.ci)
    taken = [name for name in files if (root / name).exists()]
    if taken:
        raise Misuse(f"{arguments.folder}: there already: {', '.join(taken)}")
    for name, text in files.items():
        create_new(root / name, text)
        print(shown(root.resolve() / name))
    return 0


def files_for(root: Path, ci: bool) -> dict[str, str]:
    """Return the text of each file of a new archive, by its name in the folder ``root``."""
    made = {
        BREWERY: _headed(root, "brewery") + _text("brewery.yaml"),
        STOCK: _headed(root, "stock") + _text("stock.yaml"),
        ".gitignore": IGNORED,
    }
    if ci:
        made[WORKFLOW] = _text("ci.yml")
    return made


def _text(name: str) -> str:
    return (templates_dir() / "start" / name).read_text(encoding="utf-8")


def _headed(root: Path, schema: str) -> str:
    """Return the first line, which tells an editor where the schema is."""
    path = os.path.relpath(schema_dir() / f"{schema}.json", root)
    return f"# yaml-language-server: $schema={Path(path).as_posix()}\n"
