"""The work of ``build``: jobs of a few records each, done over the cores.

A worker loads only the records of its job and what they hang on, so that neither it nor the run
that started it ever holds the whole archive.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path

from msgspec import Struct

from reportgen.archive.build import Built, digest, is_whole, key_of, tool_digest
from reportgen.archive.issued import as_issued
from reportgen.archive.summaries import linked
from reportgen.archive.workers import cores, in_order, portions
from reportgen.archive.write import write_atomic
from reportgen.failure import noted
from reportgen.loading import load_archive
from reportgen.record.finding import Finding
from reportgen.record.listing import Listing
from reportgen.record.load import Archive, Batch
from reportgen.report.documents import ALL, FORMS
from reportgen.verbs.produce import in_the_way, paper_of

MOST = 12
"""Records of one job: enough that reading the house's files is little beside the documents."""


RENEWED = 8
"""Jobs of one worker. The layout library keeps a few tenths of a megabyte of each document for
good, which in an archive of years would come to gigabytes."""


class Job(Struct, frozen=True):
    """Some records, and what of their documents is asked for.

    ``documents`` are names out of the table. ``common`` are the parts of the key that all
    documents share, ``state`` what earlier builds made of these records.
    """

    root: Path
    output: Path
    files: tuple[str, ...]
    documents: tuple[str, ...]
    paper: str | None
    common: Mapping[str, str]
    state: Mapping[str, Built]


class Done(Struct, frozen=True):
    """What came of one job: all outputs that apply, those made anew, records that are not printed.

    With each of these stand the files in its way.

    ``failures`` are the faults of the tool on some of the files.
    """

    outputs: Mapping[str, Built]
    made: tuple[str, ...]
    lost: Mapping[str, tuple[str, ...]]
    failures: tuple[Finding, ...] = ()


def jobs_of(
    root: Path,
    output: Path,
    due: Sequence[str],
    paper: str | None,
    common: Mapping[str, str],
    state: Mapping[str, Mapping[str, Built]],
) -> list[Job]:
    """Share out the records whose documents are due.

    Few records are shared out document by document, so that no core is idle; of many, a job takes
    several, since each job reads the files of the house.
    """
    if len(due) < 2 * cores():
        return [
            Job(root, output, (file,), share, paper, common, state.get(file, {}))
            for file in due
            for share in _alike()
        ]
    every = tuple(document.name for document in ALL)
    return [
        Job(root, output, tuple(slab), every, paper, common,
            {name: built for file in slab for name, built in state.get(file, {}).items()})
        for slab in portions(due, MOST, rounds=4)
    ]


def _alike() -> list[tuple[str, ...]]:
    """Share out the documents one by one; those with the same to write on their pages together."""
    shares: dict[object, tuple[str, ...]] = {}
    for document in ALL:
        alike = document.written or document.name
        shares[alike] = (*shares.get(alike, ()), document.name)
    return sorted(shares.values(), key=lambda share: share != ("record",))


def done(jobs: Sequence[Job], listing: Listing) -> Iterator[Done]:
    """Do the jobs and return what came of each. CannotWrite when a worker is ended.

    ``listing`` is that of the archive.
    """
    if len(jobs) > 1:
        from reportgen.report.pdf import prepare

        # What all workers need is loaded once, before they are forked.
        prepare()
    if not jobs:
        return iter(())
    return in_order(partial(_do, listing), jobs, RENEWED)


def _do(listing: Listing, job: Job) -> Done:
    archive = load_archive(job.root, only=job.files, listing=listing)
    paper = paper_of(archive, job.paper)
    by_file = {batch.file: batch for batch in archive.batches.values()}
    done = Done({}, (), {})
    failures: list[Finding] = []
    for file in job.files:
        with noted(file, failures):
            one = _documents(archive, by_file.get(file), file, job, paper)
            outputs = {**done.outputs, **one.outputs}
            done = Done(outputs, done.made + one.made, {**done.lost, **one.lost})
    # What the tool failed on is left as it was, like what cannot be read.
    lost = {**done.lost, **{failure.position.file: () for failure in failures}}
    return Done(done.outputs, done.made, lost, tuple(failures))


def _documents(
    archive: Archive, batch: Batch | None, file: str, job: Job, paper: str
) -> Done:
    """Make the documents of one record that are asked for and not there yet."""
    faulty = in_the_way(archive, file)
    assessment = None if faulty or batch is None else as_issued(archive, batch)
    if assessment is None or batch is None:
        return Done({}, (), {file: tuple(faulty)})
    outputs: dict[str, Built] = {}
    made: list[str] = []
    parts = linked(archive, batch)
    key = key_of({**job.common, **parts})
    for document in ALL:
        if document.name not in job.documents or not document.applies(assessment):
            continue
        view = document.view(assessment, paper, 1)
        for form in FORMS:
            name = document.file(batch.id, form)
            draft = document.draft(assessment, view, paper, form)
            content = key_of({"tool": tool_digest(), "text": draft.content})
            before = job.state.get(name)
            if before and before.content == content and is_whole(job.output, name, before):
                sha256 = before.sha256
            else:
                data = draft.make()
                write_atomic(job.output / name, data)
                sha256 = digest(data)
                made.append(name)
            outputs[name] = Built(key, sha256, tuple(parts), content)
    return Done(outputs, tuple(made), {})
