"""``completion``: a completion script for a shell."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from reportgen.archive.schemas import names_in
from reportgen.record.failure import Misuse
from reportgen.record.listing import find_root

SHELLS = ("bash", "zsh", "fish")


def run(arguments: argparse.Namespace) -> int:
    """Print the script; it is made from the parser itself, so that it cannot lag behind."""
    if arguments.names:
        print("\n".join(names_of(arguments.names)))
        return 0
    if arguments.shell is None:
        raise Misuse(f"name a shell: {', '.join(SHELLS)}")
    import shtab

    from reportgen.commandline import parser, shell_functions

    top = parser(completing=True)
    functions: Any = shell_functions()
    print(shtab.complete(top, shell=arguments.shell, preamble=functions))
    return 0


def names_of(kind: str) -> list[str]:
    """Return the names of a kind in the archive stood in; none where there is no archive."""
    if kind == "checks":
        from reportgen.checks.base import names

        return sorted(names())
    root = find_root(Path.cwd())
    if root is None:
        return []
    declared = names_in(root)
    if kind == "batches":
        return declared["batches"]
    traced = ("batches", "items", "lots", "instruments")
    return list(dict.fromkeys(name for table in traced for name in declared.get(table, ())))
