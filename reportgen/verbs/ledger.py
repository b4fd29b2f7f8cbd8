"""``ledger``: the pages over all batches, the printed list, and the tables for other programs."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path

from reportgen.archive.build import (
    Built,
    common_parts,
    key_of,
    read_state,
    record_digests,
    stale,
    write_state,
)
from reportgen.archive.build_ledger import (
    LedgerBuilt,
    current,
    is_part,
    unchanged,
    write_ledger,
)
from reportgen.archive.links import links_of
from reportgen.archive.summaries import CACHE, SummaryIndex, survey
from reportgen.archive.write import remove
from reportgen.history.series import history_of
from reportgen.loading import load_archive
from reportgen.photos import photo_parts
from reportgen.record.finding import in_error, visible
from reportgen.record.listing import OUTPUT
from reportgen.report.ledger import LedgerData, left_out
from reportgen.report.ledger_files import FOLDER, work
from reportgen.verbs.produce import alone, paper_of
from reportgen.verbs.progress import progress
from reportgen.verbs.where import Unread, root_named, say_lacking, shown


@alone
def run(arguments: argparse.Namespace) -> int:
    """Build the ledger; 1 when something of a batch is missing from it, for errors."""
    root = root_named(arguments)
    output = root / OUTPUT
    state = read_state(output)
    # Nothing is loaded when nothing has changed: the bytes on disk decide.
    common = common_parts(root, arguments.paper)
    built = ledger_of(root, arguments.paper, state, common, record_digests(root))
    if built is None:
        raise Unread(load_archive(root, only=[]))
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
    for file in built.missing:
        print(f"{visible(file)}: cannot be read, so the ledger lacks it; run reportgen check",
              file=sys.stderr)
    in_part = say_lacking(built.in_part)
    return 1 if built.missing or in_part else 0


def ledger_of(
    root: Path,
    paper: str | None,
    state: Mapping[str, Built],
    common: Mapping[str, str],
    digests: Mapping[str, str],
) -> LedgerBuilt | None:
    """Build what has changed of the ledger; None when the two files of the house cannot be read.

    It is made from ``common``, which is what every output is made from, and from every record and
    photograph: ``digests`` are those of the records.
    """
    output = root / OUTPUT
    key = key_of({**common, **digests, **photo_parts(root)})
    standing = current(output, key, state)
    if standing is not None:
        return standing
    surveyed = survey(root, output, progress("looked at"), keep=True)
    register = surveyed.register
    brewery, stock = register.brewery, register.stock
    if brewery is None or stock is None:
        return None
    says = key_of({**common, "says": surveyed.says})
    standing = unchanged(output, key, says, state)
    if standing is not None:
        return standing
    data = LedgerData(
        register,
        brewery,
        stock,
        links_of(register),
        surveyed.rows,
        SummaryIndex(output / CACHE),
        left_out(register, surveyed.lost),
        history_of(surveyed.rows, brewery, stock),
    )
    look = key_of({name: common[name] for name in ("version", "tool", "templates")})
    # A file that it lacks altogether is told as such.
    lacks = tuple(sorted(register.files.get(batch, batch) for batch in data.lost))
    in_part = tuple(file for file in in_error(register.findings) if file not in lacks)
    due = work(data, paper_of(brewery, paper), look)
    return write_ledger(output, key, says, state, due, lacks, in_part)
