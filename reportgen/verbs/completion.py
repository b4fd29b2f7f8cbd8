"""``completion``: a completion script for a shell."""

from __future__ import annotations

import argparse

SHELLS = ("bash", "zsh", "fish")


def run(arguments: argparse.Namespace) -> int:
    """Print the script; it is made from the parser itself, so that it cannot lag behind."""
    import shtab

    from reportgen.commandline import parser

    print(shtab.complete(parser(completing=True), shell=arguments.shell))
    return 0
