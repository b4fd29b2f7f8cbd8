"""``ledger``: the pages over all batches, the printed list, and the tables for other programs."""

from __future__ import annotations

import argparse
import functools
import itertools
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

from reportgen import __version__
from reportgen.archive.build import Built, digest, key_of, read_state, stale, write_state
from reportgen.archive.history import history_of
from reportgen.archive.ledger import (
    Deferred,
    LedgerBuilt,
    current,
    is_part,
    ledger_key,
    write_ledger,
)
from reportgen.archive.links import links_of
from reportgen.archive.summaries import summaries_of, tool_digest
from reportgen.archive.write import remove
from reportgen.checks.base import names
from reportgen.record.load import Archive, load_archive
from reportgen.report.ledger import LedgerData, left_out
from reportgen.report.ledger_files import FOLDER, pages, tables
from reportgen.report.ledger_list import list_html, list_pdf, lists
from reportgen.verbs.check import shown
from reportgen.verbs.produce import OUTPUT, alone, paper_of
from reportgen.verbs.progress import progress
from reportgen.verbs.where import Misuse, root_of


@alone
def run(arguments: argparse.Namespace) -> int:
    """Build the ledger; 1 when a batch cannot be read, since it is then missing from it."""
    root = root_of([arguments.archive] if arguments.archive else [])
    output = root / OUTPUT
    state = read_state(output)
    # Nothing is loaded when nothing has changed: the bytes on disk decide.
    built = ledger_of(root, arguments.paper, state)
    if built is None:
        raise Misuse("brewery.yaml or stock.yaml cannot be read; run reportgen check")
    kept = {name: entry for name, entry in state.items() if not is_part(name)}
    new = {**kept, **built.entries}
    removed = stale(output, state, set(new))
    if new != state:
        write_state(output, new)
    for path in removed:
        remove(path)
    for name in built.written:
        print(shown(output / name))
    print(
        f"{len(built.written)} written, {len(built.entries) - len(built.written)} unchanged, "
        f"{len(removed)} removed, in {shown(output / FOLDER)}",
        file=sys.stderr,
    )
    for batch in built.missing:
        print(f"{batch}: cannot be read, so the ledger lacks it; run reportgen check",
              file=sys.stderr)
    return 1 if built.missing else 0


def ledger_of(
    root: Path,
    paper: str | None,
    state: Mapping[str, Built],
    archive: Archive | None = None,
) -> LedgerBuilt | None:
    """Build what has changed of the ledger; None when the two files of the house cannot be read."""
    output = root / OUTPUT
    key = ledger_key(root, paper or "of the house")
    standing = current(output, key, state)
    if standing is not None:
        return standing
    archive = archive or load_archive(root, names())
    if archive.brewery is None or archive.stock is None:
        return None
    found = summaries_of(archive, output, progress("assessed"), keep=True)
    data = LedgerData(
        archive,
        archive.brewery,
        archive.stock,
        links_of(archive),
        found.summaries,
        left_out(archive, found.lost),
        history_of(found.summaries, archive.brewery, archive.stock),
    )
    files = itertools.chain(pages(data), tables(data))
    printed = _lists(data, paper_of(archive, paper))
    return write_ledger(output, key, state, files, printed, data.lost)


def _lists(data: LedgerData, paper: str) -> Iterator[Deferred]:
    """Yield the printed lists, each to be made when what stands in it has changed."""
    for one in lists(data):
        text = list_html(data, one, paper)
        key = key_of({"text": digest(text.encode()), "tool": tool_digest(), "version": __version__})
        yield Deferred(one.file, key, functools.partial(list_pdf, data, one, text))
