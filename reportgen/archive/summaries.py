"""The summaries of all batches: taken over where nothing has changed, else assessed anew.

What was assessed stands in ``.summaries.json`` in the output folder, each with the key of
everything it was made from; it may be deleted at any time.
"""

from __future__ import annotations

import json
import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from reportgen import __version__
from reportgen.archive.build import key_of, tree_digest
from reportgen.archive.summary import Summary, from_data, summary_of, to_data
from reportgen.archive.write import write_atomic
from reportgen.record.load import BREWERY, STOCK, Archive, Batch

CACHE = ".summaries.json"
FEWEST_FOR_CORES = 8
"""Fewer batches than this are assessed in one process: starting others takes longer."""

Progress = Callable[[int, int], None]
"""Told after each batch: how many are done, of how many."""


@dataclass(frozen=True)
class Summaries:
    """The summaries by batch id, in order; ``lost`` are batches that cannot be assessed.

    ``assessed`` counts those that were made anew.
    """

    summaries: dict[str, Summary]
    lost: tuple[str, ...]
    assessed: int


@lru_cache(maxsize=1)
def tool_digest() -> str:
    """Return a digest of the tool's own code: another version computes anew."""
    return tree_digest(Path(__file__).parents[1])


def linked(archive: Archive, batch: Batch) -> dict[str, str]:
    """Return the SHA-256 of each record that a batch's figures and findings depend on, by file.

    Its own, those its plan starts from, and those its yeast comes from.
    """
    parts = {batch.file: batch.source.sha256}
    pending = [batch]
    while pending:
        record = pending.pop().record
        if record is None:
            continue
        for other in (record.plan.like, record.plan.pitch.harvested_from):
            found = archive.batches.get(str(other)) if other else None
            if found is not None and found.file not in parts:
                parts[found.file] = found.source.sha256
                pending.append(found)
    return parts


def _key(archive: Archive, batch: Batch) -> str:
    house = {
        name: archive.sources[name].sha256 for name in (BREWERY, STOCK) if name in archive.sources
    }
    return key_of(
        {"version": __version__, "tool": tool_digest(), **house, **linked(archive, batch)}
    )


def _read(output: Path) -> dict[str, tuple[str, Summary]]:
    try:
        entries = json.loads((output / CACHE).read_text(encoding="utf-8"))
        return {b: (e["key"], from_data(e["summary"])) for b, e in entries.items()}
    except (OSError, ValueError, TypeError, KeyError, AttributeError, IndexError):
        return {}


def _write(output: Path, kept: dict[str, tuple[str, Summary]]) -> None:
    entries = {b: {"key": key, "summary": to_data(s)} for b, (key, s) in sorted(kept.items())}
    write_atomic(output / CACHE, json.dumps(entries, ensure_ascii=False).encode())


def summarise(archive: Archive, batch: Batch) -> Summary | None:
    """Assess one batch, run the checks over it and return its summary; None when it cannot be."""
    from reportgen.archive.issued import with_issued_plan
    from reportgen.assess import assess
    from reportgen.checks.base import run_checks

    assessment = assess(archive, batch)
    if assessment is None:
        return None
    return summary_of(assessment, tuple(run_checks(with_issued_plan(assessment))))


def summaries_of(
    archive: Archive, output: Path, progress: Progress, *, keep: bool
) -> Summaries:
    """Return the summaries of all batches of an archive.

    ``keep`` writes what was assessed into ``output``, for the next time.
    """
    before = _read(output)
    keys = {id_: _key(archive, batch) for id_, batch in archive.batches.items()}
    kept = {id_: before[id_] for id_, key in keys.items() if before.get(id_, ("",))[0] == key}
    due = [id_ for id_ in archive.batches if id_ not in kept]
    lost = []
    for done, (id_, summary) in enumerate(_assessed(archive, due), 1):
        if summary is None:
            lost.append(id_)
        else:
            kept[id_] = (keys[id_], summary)
        progress(done, len(due))
    if keep and (due or set(before) != set(kept)):
        _write(output, kept)
    ordered = {id_: kept[id_][1] for id_ in archive.batches if id_ in kept}
    return Summaries(ordered, tuple(lost), len(due) - len(lost))


_shared: Archive | None = None
"""The archive that forked workers inherit, so that none has to load it again."""


def _work(id_: str) -> tuple[str, Summary | None]:
    assert _shared is not None
    return id_, summarise(_shared, _shared.batches[id_])


def _assessed(archive: Archive, due: Iterable[str]) -> Iterator[tuple[str, Summary | None]]:
    global _shared
    jobs = list(due)
    workers = cores()
    if workers < 2 or len(jobs) < FEWEST_FOR_CORES:
        for id_ in jobs:
            yield id_, summarise(archive, archive.batches[id_])
        return
    _shared = archive
    try:
        with multiprocessing.get_context("fork").Pool(workers) as pool:
            yield from pool.imap(_work, jobs, chunksize=4)
    finally:
        _shared = None


def cores() -> int:
    """Return how many processes work at once: one a core; one where none can be forked."""
    if "fork" not in multiprocessing.get_all_start_methods():
        return 1
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1
    return min(cores, 8)
