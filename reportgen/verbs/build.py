"""``build``: everything that changed, and a manifest of all there is."""

from __future__ import annotations

import argparse
import multiprocessing.connection
import os
import sys
import threading
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from reportgen import __version__
from reportgen.archive.build import (
    Built,
    digest,
    is_current,
    key_of,
    read_state,
    stale,
    tree_digest,
    write_state,
)
from reportgen.archive.ledger import is_part
from reportgen.archive.write import CannotWrite, remove, write_atomic
from reportgen.assess import assess
from reportgen.record.load import Archive, Batch, load_archive
from reportgen.report.documents import ALL, Document
from reportgen.verbs.check import shown
from reportgen.verbs.ledger import ledger_of
from reportgen.verbs.produce import OUTPUT, alone, assessments, paper_of
from reportgen.verbs.where import root_of, wanted


@alone
def run(arguments: argparse.Namespace) -> int:
    """Build what changed; 1 when a batch cannot be read."""
    root = root_of(arguments.path)
    archive = load_archive(root)
    output = root / OUTPUT
    paper = paper_of(archive, arguments.paper)
    batches, lost = assessments(archive, wanted(archive, arguments.path))
    state = read_state(output)
    common = _common_parts(archive, paper)
    keys: dict[str, str] = {}
    due: list[tuple[str, str, Document]] = []
    for batch in batches:
        key = key_of({**common, **_parts_of(archive, batch.batch)})
        for document in ALL:
            if document.applies(batch):
                name = document.file(batch.batch.id)
                keys[name] = key
                if not is_current(output, name, key, state):
                    due.append((name, batch.batch.id, document))
    made = _make(root, output, due, paper)
    new = {name: Built(keys[name], made.get(name) or state[name].sha256) for name in keys}
    removed: list[Path] = []
    if arguments.path:
        new = {**state, **new}
    else:
        # The ledger is about all batches, so it is built when all are.
        ledger = ledger_of(root, arguments.paper, state)
        new |= ledger.entries if ledger else {n: b for n, b in state.items() if is_part(n)}
        keys |= {name: entry.key for name, entry in ledger.entries.items()} if ledger else {}
        made |= {n: ledger.entries[n].sha256 for n in ledger.written} if ledger else {}
        removed = stale(output, state, set(new))
    write_state(output, new)
    for path in removed:
        remove(path)
    for name in sorted(made):
        print(shown(output / name))
    print(
        f"{len(made)} built, {len(keys) - len(made)} unchanged, {len(removed)} removed, "
        f"in {shown(output)}",
        file=sys.stderr,
    )
    return 1 if lost else 0


def _common_parts(archive: Archive, paper: str) -> dict[str, str]:
    from reportgen.resources import templates_dir

    folders = [templates_dir(), Path(__file__).parents[1]]
    own = archive.root / "templates"
    if own.is_dir():
        folders.append(own)
    house = {name: archive.sources[name].sha256 for name in ("brewery.yaml", "stock.yaml")
             if name in archive.sources}
    return {"version": __version__, "paper": paper, "tool": tree_digest(*folders), **house}


def _parts_of(archive: Archive, batch: Batch) -> dict[str, str]:
    """A batch is made from its own file and from those its plan or its yeast starts from."""
    parts = {batch.file: batch.source.sha256}
    pending = [batch]
    while pending:
        record = pending.pop().record
        if record is None:
            continue
        for other in (record.plan.like, record.plan.pitch.harvested_from):
            linked = archive.batches.get(str(other)) if other else None
            if linked is not None and linked.file not in parts:
                parts[linked.file] = linked.source.sha256
                pending.append(linked)
    return parts


_worker_archive: Archive | None = None


def _start_worker(root: Path) -> None:
    global _worker_archive
    _worker_archive = load_archive(root)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    """End this worker when the run that started it was killed; it would wait for work for ever."""
    multiprocessing.connection.wait([sentinel])
    os._exit(1)


def _work(job: tuple[str, str, str, Path, str]) -> tuple[str, str]:
    name, batch_id, document_name, output, paper = job
    assert _worker_archive is not None
    batch = assess(_worker_archive, _worker_archive.batches[batch_id])
    document = next(d for d in ALL if d.name == document_name)
    assert batch is not None
    data = document.make(batch, paper, 1)
    write_atomic(output / name, data)
    return name, digest(data)


def _make(
    root: Path, output: Path, due: list[tuple[str, str, Document]], paper: str
) -> dict[str, str]:
    """Make the documents that are due, over the cores; returns the SHA-256 of each by name."""
    jobs = [(name, batch, document.name, output, paper) for name, batch, document in due]
    workers = min(len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1, 8)
    if workers < 2 or len(jobs) < 4:
        _start_worker(root)
        return dict(_told(map(_work, jobs), len(jobs)))
    try:
        with ProcessPoolExecutor(workers, initializer=_start_worker, initargs=(root,)) as pool:
            return dict(_told(pool.map(_work, jobs, chunksize=2), len(jobs)))
    except BrokenProcessPool as error:
        raise CannotWrite(
            "a worker was ended from outside, perhaps for want of memory; run build again"
        ) from error


def _told(results: Iterable[tuple[str, str]], total: int) -> Iterator[tuple[str, str]]:
    """Pass results on and, on a terminal, show how far the work is."""
    bar = sys.stderr.isatty()
    for done, result in enumerate(results, 1):
        if bar:
            print(f"\r{done:>5} of {total}", end="\n" if done == total else "", file=sys.stderr)
        yield result
