"""The findings of an archive of any size, in bounded memory and on all cores.

The records are checked in portions, each loaded with only what it hangs on, so that never more
than a portion is held for each core. What is said does not depend on the portions.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Collection, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from reportgen.archive.issued import with_issued_plan
from reportgen.archive.summaries import FEWEST_FOR_CORES, cores
from reportgen.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.record.finding import Finding
from reportgen.record.load import (
    BREWERY,
    STOCK,
    Archive,
    folders_named_like_records,
    lies_in,
    load_archive,
    record_files,
)

HOUSE = (BREWERY, STOCK)

LARGEST = 200
"""Records in one portion at most: what they hang on, and the house's files, is read for each."""


@dataclass(frozen=True)
class Checked:
    """All findings in order of place, and how many batches they are about."""

    findings: tuple[Finding, ...]
    batches: int


def findings_in(archive: Archive, files: set[str] | None = None) -> list[Finding]:
    """Return all findings of a loaded archive, or those of some files, in order of position."""
    found = list(archive.findings)
    for batch in archive.batches.values():
        if files is not None and batch.file not in files:
            continue
        assessment = assess(archive, batch)
        if assessment is not None:
            found += run_checks(with_issued_plan(assessment))
    if files is not None:
        found = [f for f in found if f.position.file in files]
    return sorted(set(found))


def checked(root: Path, named: Collection[str] | None = None) -> Checked:
    """Check an archive: all of it, or the files and folders named below its folder."""
    records = [path.relative_to(root).as_posix() for path in record_files(root)]
    others = frozenset(HOUSE)
    if named is not None:
        records = [name for name in records if lies_in(name, named)]
        others = frozenset(named) - frozenset(records)
    found = {
        folder
        for folder in folders_named_like_records(root)
        if named is None or lies_in(folder.position.file, named)
    }
    batches = 0
    for portion in _portions(root, records, others):
        found.update(portion.findings)
        batches += portion.batches
    return Checked(tuple(sorted(found)), batches)


def _portions(
    root: Path, records: Sequence[str], others: frozenset[str]
) -> Iterator[Checked]:
    workers = cores() if len(records) >= FEWEST_FOR_CORES else 1
    size = max(1, min(LARGEST, -(-len(records) // (2 * workers))))
    portions = [records[n : n + size] for n in range(0, len(records), size)] or [()]
    work = partial(_portion, root, others)
    if workers < 2:
        yield from map(work, portions)
        return
    context = multiprocessing.get_context("fork")
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        yield from pool.map(work, portions)


def _portion(root: Path, others: frozenset[str], records: Sequence[str]) -> Checked:
    """Check one portion. ``others`` are the files that are no record and wanted all the same."""
    archive = load_archive(root, names(), only=records)
    files = {*records, *others}
    own = sum(batch.file in files for batch in archive.batches.values())
    return Checked(tuple(findings_in(archive, files)), own)
