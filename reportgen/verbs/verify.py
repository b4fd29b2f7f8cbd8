"""``verify``: an archived PDF against its source: same record, same bytes."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

from reportgen.archive.revisions import NoRevision, Revision, resolve
from reportgen.archive.verify import NotVerifiable, Statement, Verification, open_pdf, verify
from reportgen.record.finding import visible
from reportgen.record.load import find_root
from reportgen.verbs.where import Misuse, root_of

WIDTH = 96
WORDS = {True: "holds", False: "DOES NOT HOLD", None: "-"}


def run(arguments: argparse.Namespace) -> int:
    """Verify each PDF; 0 when everything holds, 1 when something does not, 2 for misuse."""
    if arguments.copy < 1:
        raise Misuse("the copy number starts at 1")
    if arguments.source:
        return _print_source(arguments.pdf)
    # Every file is looked at before any is refused: the last line must not hide the first.
    code = 0
    found: list[tuple[str, Verification]] = []
    for text in arguments.pdf:
        try:
            found.append((text, _verified(text, arguments)))
        except (NotVerifiable, NoRevision, Misuse) as error:
            print(f"reportgen verify: {visible(f'{text}: {error}')}", file=sys.stderr)
            code = 2
    if arguments.format == "json":
        print(json.dumps([_data(name, one) for name, one in found], ensure_ascii=False, indent=1))
    else:
        for name, one in found:
            print("\n".join(lines(name, one)))
    return code or (0 if all(one.holds for _, one in found) else 1)


def _verified(text: str, arguments: argparse.Namespace) -> Verification:
    path = Path(text)
    data = _bytes(path)
    root = _root(path, arguments.archive)
    revision: Revision | None = resolve(root, arguments.revision) if arguments.revision else None
    return verify(data, root, revision, arguments.copy)


def _bytes(path: Path) -> bytes:
    if not path.is_file():
        raise Misuse("no such file")
    try:
        return path.read_bytes()
    except OSError as error:
        raise Misuse(f"cannot be read: {error.strerror}") from error


def _root(path: Path, chosen: str | None) -> Path:
    """Return the archive chosen, else that which the PDF lies in, else the one stood in."""
    if chosen:
        return root_of([chosen])
    return find_root(path.resolve().parent) or root_of([])


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


def lines(name: str, found: Verification) -> Iterator[str]:
    """Yield what is said of one PDF as text."""
    paper = found.paper or "unknown paper"
    pages = f"{found.pages} page{'s' if found.pages != 1 else ''}"
    yield f"{visible(name)}: {found.document} {visible(found.batch)}, {paper}, {pages}"
    for statement in found.statements:
        yield from _statement_lines(statement)


def _statement_lines(statement: Statement) -> Iterator[str]:
    head = f"  {WORDS[statement.holds]:<15}"
    yield from textwrap.wrap(
        visible(statement.words), WIDTH, initial_indent=head, subsequent_indent=" " * 17,
        break_on_hyphens=False, break_long_words=False,
    )  # fmt: skip
    for line in statement.details:
        yield " " * 17 + visible(line)


def _data(name: str, found: Verification) -> dict[str, object]:
    return {
        "file": name,
        "document": found.document,
        "batch": found.batch,
        "paper": found.paper or None,
        "pages": found.pages,
        "holds": found.holds,
        "statements": [
            {"holds": s.holds, "words": s.words, "details": list(s.details)}
            for s in found.statements
        ],
    }
