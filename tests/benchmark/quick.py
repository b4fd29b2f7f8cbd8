"""What a brewer waits for, as one table: processor time of each thing, beside its yardsticks.

    python tests/benchmark/quick.py                    all rows, 200 batches, about half an hour
    python tests/benchmark/quick.py --batches 1000     as a large house
    python tests/benchmark/quick.py check ledger       some rows
    python tests/benchmark/quick.py --against TREE     the same rows by another checkout, by turns

Every row is a new process. Its yardsticks take turns with it in the same run: the layout library
alone on the same HTML, and, where they are on the path, ``yamllint`` and ``check-jsonschema`` on
the same file. Numbers are medians of processor seconds, user and system, with children.
Not part of the tests: it takes long.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import documents
from documents import RECORD, TREE, Cost, by_turns, demo, line, run
from synthetic_archive import make_archive

ROWS = ("check", "documents", "archive", "ledger", "build", "manual")
RUNS = 5


def tool(*words: str) -> list[str]:
    """Return the command line of a verb."""
    return [sys.executable, "-m", "reportgen", *words]


def turns(
    what: str, folder: Path, command: Sequence[str], trees: Sequence[Path],
    yardsticks: Sequence[tuple[str, Sequence[str]]] = (), runs: int = RUNS,
    before: Callable[[], None] = lambda: None,
) -> None:
    """Print what a command takes by each tree and its yardsticks, by turns.

    ``before`` is done before each run, and not counted.
    """

    def one(line_: Sequence[str], tree: Path) -> Callable[[], Cost]:
        def go() -> Cost:
            before()
            return run(line_, folder, tree=tree)

        return go

    each = [one(command, tree) for tree in trees]
    each += [one(words, trees[0]) for _, words in yardsticks]
    costs = by_turns(runs, *each, warm=runs > 1)
    for tree, cost in zip(trees[1:], costs[1:], strict=False):
        line(f"{what}, by {tree.name}", cost)
    for (name, _), cost in zip(yardsticks, costs[len(trees) :], strict=True):
        line(f"{what}: {name}", cost)
    against = costs[1] if len(costs) > 1 else None
    line(what, costs[0], against)


def check(trees: Sequence[Path]) -> None:
    """One record, beside programs that only look at the YAML and at a schema."""
    with demo() as folder:
        beside = [
            (name, [found, *words, RECORD])
            for name, words in (
                ("yamllint", []),
                ("check-jsonschema", ["--schemafile", str(TREE / "schema/record.json")]),
            )
            if (found := shutil.which(name)) is not None
        ]
        turns("check, one record", folder, tool("check", RECORD), trees, beside)


def archive(trees: Sequence[Path], folder: Path, count: int) -> None:
    """All records checked: the first time, and when nothing has changed."""

    def forget() -> None:
        shutil.rmtree(folder / "build", ignore_errors=True)

    turns(f"check, {count} records, the first time", folder, tool("check"), trees, runs=1,
          before=forget)
    for tree in trees:
        run(tool("check"), folder, tree=tree)
        turns(f"check, {count} records, nothing changed ({tree.name})", folder, tool("check"),
              [tree], runs=3)


def _last(folder: Path) -> Path:
    return sorted(folder.glob("20*/*.yaml"))[-1]


def _say(folder: Path, words: Sequence[str]) -> Callable[[], None]:
    """Return what puts other words at the end of the last record: each time, the next of them."""
    record, waiting = _last(folder), iter(words)
    text = record.read_text(encoding="utf-8")

    def go() -> None:
        record.write_text(f"{text}{next(waiting)}\n", encoding="utf-8")

    return go


def ledger(trees: Sequence[Path], folder: Path, count: int) -> None:
    """The ledger after a remark that no page shows, and after a sentence that one does."""
    for tree in trees:
        shutil.rmtree(folder / "build", ignore_errors=True)
        run(tool("ledger"), folder, tree=tree)
        remarks = [f"# remark {n}" for n in range(9)]
        turns(f"ledger, {count} batches, a remark in one ({tree.name})", folder, tool("ledger"),
              [tree], runs=3, before=_say(folder, remarks))


def build(trees: Sequence[Path], folder: Path, count: int) -> None:
    """Again with one figure of one record changed, after a first build whose layout is left out.

    All PDFs of a large archive would take hours; the stand-ins are taken for the tool's own.
    """
    record = _last(folder)
    text = record.read_text(encoding="utf-8")
    other, changed = re.subn(r"(?<=packaged_volume: )[\d.]+", "36.5", text)
    assert changed == 1 and other != text
    for tree in trees:
        shutil.rmtree(folder / "build", ignore_errors=True)
        stand_in = [sys.executable, str(TREE / "tests/benchmark/stand_in.py"), str(folder)]
        line(f"build, {count} batches, no layout ({tree.name})", run(stand_in, folder, tree=tree))
        record.write_text(other, encoding="utf-8")
        line(f"build, one record changed ({tree.name})", run(tool("build"), folder, tree=tree))
        record.write_text(text, encoding="utf-8")


def manual(trees: Sequence[Path]) -> None:
    """The manual, made whole."""
    with demo() as folder:
        turns("manual", folder, tool("manual", "--output", str(folder.parent / "manual")), trees,
              runs=1)


def main() -> None:
    """Measure what the command line asks for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("rows", nargs="*", choices=(*ROWS, []), default=list(ROWS))
    parser.add_argument("--batches", type=int, default=200)
    parser.add_argument("--against", type=Path, metavar="TREE", help="another checkout")
    arguments = parser.parse_args()
    trees = [TREE, *([arguments.against.resolve()] if arguments.against else [])]
    documents.head()
    small = {"check": check, "documents": lambda trees: documents.cold(RUNS), "manual": manual}
    large = {"archive": archive, "ledger": ledger, "build": build}
    with tempfile.TemporaryDirectory(prefix="benchmark-") as scratch:
        folder = Path(scratch) / "archive"
        if set(arguments.rows) & set(large):
            make_archive(folder, arguments.batches, seed=1)
        for row in arguments.rows:
            if row in small:
                small[row](trees)
            else:
                large[row](trees, folder, arguments.batches)


if __name__ == "__main__":
    main()
