"""``verify``: an archived PDF against its source: same record, same bytes."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path

from msgspec import Struct

from reportgen.archive.revisions import NoRevision, resolve
from reportgen.archive.verify import (
    NotVerifiable,
    Shelf,
    Statement,
    Verification,
    open_pdf,
    shelf,
    verify,
)
from reportgen.archive.workers import in_order
from reportgen.record.failure import Misuse, failure_of, speaks_for_itself
from reportgen.record.finding import visible
from reportgen.record.listing import find_root
from reportgen.report.documents import ALL, ASKED_FOR
from reportgen.report.text_table import wrapped
from reportgen.verbs.where import root_of

WORDS = {True: "holds", False: "DOES NOT HOLD", None: "-"}


def run(arguments: argparse.Namespace) -> int:
    """Verify each PDF.

    0 when everything holds, 1 when something does not, 2 when a file is no PDF of a batch or there
    is nothing to hold it against.
    """
    if arguments.copy < 1:
        raise Misuse("the copy number starts at 1")
    if arguments.source:
        return _print_source(arguments.pdf)
    # Every file is looked at before any is refused: the last line must not hide the first.
    counts = {"hold": 0, "do not hold": 0, "cannot be verified": 0, "not of one batch": 0}
    said: list[dict[str, object]] = []
    for verified in _all_verified(_files(arguments.pdf), arguments):
        if isinstance(verified.found, str):
            print(
                f"reportgen verify: {visible(f'{verified.name}: {verified.found}')}",
                file=sys.stderr,
            )
            counts["cannot be verified"] += 1
            continue
        if verified.found.compared:
            counts["hold" if verified.found.holds else "do not hold"] += 1
        else:
            counts["cannot be verified" if verified.found.batch else "not of one batch"] += 1
        if arguments.format == "json":
            said.append(_data(verified.name, verified.found))
        else:
            print("\n".join(lines(verified.name, verified.found)), flush=True)
    if arguments.format == "json":
        print(json.dumps(said, ensure_ascii=False, indent=1))
    if sum(counts.values()) > 1:
        told = ", ".join(f"{n} {words}" for words, n in counts.items() if n)
        print(f"{sum(counts.values())} PDFs: {told}", file=sys.stderr)
    nothing = not counts["hold"] + counts["do not hold"]
    return 2 if counts["cannot be verified"] or nothing else 1 if counts["do not hold"] else 0


class _Verified(Struct, frozen=True):
    """A file with what was found, or why nothing could be."""

    name: str
    found: Verification | str


def _files(paths: Sequence[str]) -> list[str]:
    """Return the files named, and for a folder every PDF below it in order."""
    files: list[str] = []
    for text in paths:
        path = Path(text)
        if path.is_dir():
            files += sorted(str(p) for p in path.rglob("*.pdf") if p.is_file())
        else:
            files.append(text)
    if not files:
        raise Misuse(f"{', '.join(paths)}: there is no PDF in it")
    return files


RENEWED = 100
"""Files that one worker verifies; see the building of documents for why it is renewed."""


def _all_verified(
    files: Sequence[str], arguments: argparse.Namespace
) -> Iterator[_Verified]:
    """Verify the files in order, the archive of each laid out once, on all cores."""
    roots: dict[str, Path | None | str] = {text: _root(text, arguments.archive) for text in files}
    with ExitStack() as stack:
        shelves: dict[Path | None, Shelf | str] = {}
        for root in roots.values():
            if root not in shelves and not isinstance(root, str):
                shelves[root] = _shelf(stack, root, arguments.revision)
        jobs = []
        for text, root in roots.items():
            jobs.append((text, root if isinstance(root, str) else shelves[root], arguments.copy))
        yield from in_order(_verified, jobs, RENEWED)


def _shelf(stack: ExitStack, root: Path | None, name: str | None) -> Shelf | str:
    if name is None:
        return stack.enter_context(shelf(root))
    if root is None:
        return "there is no archive here, so it has no revision; name it with --archive"
    try:
        return stack.enter_context(shelf(root, resolve(root, name)))
    except NoRevision as error:
        return str(error)


def _verified(job: tuple[str, Shelf | str, int]) -> _Verified:
    text, against, copy = job
    if isinstance(against, str):
        return _Verified(text, against)
    path = Path(text)
    try:
        return _Verified(text, verify(_bytes(path), against, (*ALL, *ASKED_FOR), copy, path))
    except (NotVerifiable, Misuse) as error:
        return _Verified(text, str(error))
    except Exception as error:
        if speaks_for_itself(error):
            raise
        return _Verified(text, failure_of(error, text).message)


def _bytes(path: Path) -> bytes:
    if not path.is_file():
        raise Misuse("no such file")
    try:
        return path.read_bytes()
    except OSError as error:
        raise Misuse(f"cannot be read: {error.strerror}") from error


def _root(text: str, chosen: str | None) -> Path | None | str:
    """Return the archive chosen, else that which the PDF lies in, else the one stood in.

    None when there is none; in words what is wrong with the one chosen.
    """
    if chosen:
        try:
            return root_of([chosen])
        except Misuse as error:
            return str(error)
    return find_root(Path(text).resolve().parent) or find_root(Path.cwd())


def _print_source(paths: list[str]) -> int:
    if len(paths) != 1:
        raise Misuse("--source takes one PDF")
    try:
        opened = open_pdf(_bytes(Path(paths[0])))
    except NotVerifiable as error:
        raise Misuse(f"{paths[0]}: {error}") from error
    if len(opened.attached) != 1:
        print(f"{paths[0]}: no record is attached", file=sys.stderr)
        return 1
    sys.stdout.buffer.write(opened.attached[0][1])
    return 0


def lines(name: str, verification: Verification) -> Iterator[str]:
    """Yield what is said of one PDF as text."""
    paper = verification.paper or "unknown paper"
    pages = f"{verification.pages} page{'s' if verification.pages != 1 else ''}"
    title = f"{verification.document} {verification.batch}".strip()
    yield f"{visible(name)}: {visible(title)}, {paper}, {pages}"
    for statement in verification.statements:
        yield from _statement_lines(statement)


def _statement_lines(statement: Statement) -> Iterator[str]:
    head = f"  {WORDS[statement.holds]:<15}"
    yield from wrapped(visible(statement.words), " " * 17, head)
    for line in statement.details:
        yield " " * 17 + visible(line)


def _data(name: str, verification: Verification) -> dict[str, object]:
    return {
        "file": name,
        "document": verification.document,
        "batch": verification.batch,
        "paper": verification.paper or None,
        "pages": verification.pages,
        "holds": verification.holds,
        "statements": [
            {"holds": s.holds, "words": s.words, "details": list(s.details)}
            for s in verification.statements
        ],
    }
