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
from reportgen.assessment.assess import Assessment
from reportgen.assessment.explained import explain
from reportgen.loading import load_archive
from reportgen.record.failure import noted
from reportgen.record.finding import Finding
from reportgen.record.listing import Listing
from reportgen.record.load import Archive
from reportgen.report.documents import ALL, FORMS, RECORD, WORKING
from reportgen.verbs.produce import in_the_way, paper_of

MOST = 12
"""Records of one job: enough that reading the house's files is little beside the documents."""


RENEWED = 8
"""Jobs of one worker. The layout library keeps a few tenths of a megabyte of each document for
good, which in an archive of years would come to gigabytes."""


class RecordsRead(Struct, frozen=True):
    """Records that were read: what is known of those that can be printed, by file.

    ``lost`` has the others with the files in their way, ``failures`` the faults of the tool.
    """

    archive: Archive
    batches: Mapping[str, Assessment]
    lost: Mapping[str, tuple[str, ...]]
    failures: tuple[Finding, ...] = ()


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

    Few records are shared out by their documents, so that no core is idle; of many, a job takes
    several, since each job reads the files of the house.
    """
    if _are_few(due):
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


def _are_few(files: Sequence[str]) -> bool:
    return len(files) < 2 * cores()


def _alike() -> list[tuple[str, ...]]:
    """Share out the documents one by one; those that work out the same together, longest first."""
    shares: dict[object, tuple[str, ...]] = {}
    for document in ALL:
        alike = document.written or document.name
        shares[alike] = (*shares.get(alike, ()), document.name)
    return sorted(shares.values(), key={RECORD.name, WORKING.name}.isdisjoint)


def done(jobs: Sequence[Job], listing: Listing) -> Iterator[Done]:
    """Do the jobs and return what came of each. CannotWrite when a worker is ended.

    ``listing`` is that of the archive.
    """
    if not jobs:
        return iter(())
    opened = None
    if len(jobs) > 1:
        from reportgen.report.pdf import prepare

        # What all workers need is loaded once, before they are forked.
        prepare()
        files = tuple(dict.fromkeys(file for job in jobs for file in job.files))
        if _are_few(files):
            opened = _opened(jobs[0].root, files, listing)
            for file, assessment in opened.batches.items():
                # Record and working both need it, each on a core of its own. A fault of the tool
                # in it is met again there, and told; the other records go on.
                with noted(file, []):
                    if RECORD.applies(assessment):
                        explain(assessment)
    return in_order(partial(_do, listing, opened), jobs, RENEWED)


def _opened(root: Path, files: Sequence[str], listing: Listing) -> RecordsRead:
    """Read some records and what they hang on, and assess them."""
    archive = load_archive(root, only=files, listing=listing)
    by_file = {batch.file: batch for batch in archive.batches.values()}
    assessments: dict[str, Assessment] = {}
    lost: dict[str, tuple[str, ...]] = {}
    failures: list[Finding] = []
    for file in files:
        faulty = in_the_way(archive, file)
        with noted(file, failures):
            batch = by_file.get(file)
            assessment = None if faulty or batch is None else as_issued(archive, batch)
            if assessment is None:
                lost[file] = tuple(faulty)
            else:
                assessments[file] = assessment
    return RecordsRead(archive, assessments, lost, tuple(failures))


def _do(listing: Listing, opened: RecordsRead | None, job: Job) -> Done:
    opened = opened or _opened(job.root, job.files, listing)
    paper = paper_of(opened.archive.brewery, job.paper)
    outputs: dict[str, Built] = {}
    made: list[str] = []
    failures = [fault for fault in opened.failures if fault.position.file in job.files]
    for file in job.files:
        if file in opened.batches:
            with noted(file, failures):
                of_file, new = _documents(opened.batches[file], job, paper)
                outputs |= of_file
                made += new
    # What the tool failed on is left as it was, like what cannot be read.
    lost = {file: opened.lost[file] for file in job.files if file in opened.lost}
    lost |= {failure.position.file: () for failure in failures}
    return Done(outputs, tuple(made), lost, tuple(failures))


def _documents(
    assessment: Assessment, job: Job, paper: str
) -> tuple[dict[str, Built], list[str]]:
    """Make the documents of one record that are asked for and not there yet.

    Returns all that apply, and the names of those made.
    """
    outputs: dict[str, Built] = {}
    made: list[str] = []
    batch = assessment.batch
    parts = linked(assessment.archive, batch)
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
    return outputs, made
