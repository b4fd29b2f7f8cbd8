"""The findings of an archive of any size, in bounded memory and on all cores.

The records are checked in portions, each loaded with only what it hangs on, so that never more
than a portion is held for each core. What is said does not depend on the portions.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reportgen.archive.issued import with_issued_plan
from reportgen.archive.workers import (
    FEWEST,
    LARGEST,
    Progress,
    in_order,
    portions,
    tell_nobody,
)
from reportgen.archive.write import CannotWrite
from reportgen.assessment.assess import assess
from reportgen.checks.base import house_findings, is_of_name, names, own_findings, store_findings
from reportgen.loading import load_archive
from reportgen.record.failure import noted
from reportgen.record.finding import Finding, Severity, once
from reportgen.record.listing import (
    BREWERY,
    OUTPUT,
    STOCK,
    Listing,
    lies_in,
    listing_of,
    mentioning,
    misnamed,
    record_names,
)
from reportgen.record.load import Archive, Batch
from reportgen.store.balance import store_of
from reportgen.store.takings import BatchTakings, takings_of

MANY = 50
"""Records of an archive that take longer to look at than anyone waits for gladly."""


class Checked(Struct, frozen=True):
    """All findings in order of place, and how many batches they are about."""

    findings: tuple[Finding, ...]
    batches: int
    takings: tuple[BatchTakings, ...] = ()


def each_name_once(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings in their order, with one of all uses of a name that is nowhere.

    What hangs on a record in which only that is wrong goes along.
    """
    uses: dict[tuple[str, str], list[Finding]] = {}
    left = once(findings)
    for f in left:
        if is_of_name(f.rule):
            uses.setdefault((f.rule, _OF_FILE.split(f.message)[0]), []).append(f)
    for first, *more in uses.values():
        if not more:
            continue
        files = {f.position.file for f in (first, *more)}
        often = f"{len(more)} times" if len(more) > 1 else "once"
        told = f"{first.message}, here and {often} more"
        remedy = first.remedy
        if len(files) > 1:
            told = f"{first.message}; so in {len(files)} files, the last {more[-1].position.file}"
        if len(files) > 1 and first.severity > Severity.NOTE:
            offered = f"{first.remedy} If" if first.remedy.endswith("?") else f"{first.remedy}; if"
            remedy = f"{offered} it was renamed, give it its old name again"
        hangs = {f"correct {file}" for file in files}
        left = [
            replace(f, message=told, remedy=remedy) if f is first else f
            for f in left
            if f not in more and f.remedy not in hangs
        ]
    return left


_OF_FILE = re.compile(r" is not among|, here and")
"""After the name: where it was looked for, and how often it stands in one file."""


def findings_in(archive: Archive, files: set[str] | None = None) -> list[Finding]:
    """Return all findings of a loaded archive, or those of some files, in order of position.

    What cannot be read in the files of the house is said with those of any record: no number of
    it is sure, and no document of it is made.
    """
    findings = [*archive.findings, *house_findings(archive)]
    if files is not None:
        findings = [
            f for f in findings
            if f.position.file in files
            or (f.severity is Severity.ERROR and f.position.file in (BREWERY, STOCK))
        ]  # fmt: skip
    for batch in archive.batches.values():
        if files is not None and batch.file not in files:
            continue
        with noted(batch.file, findings):
            assessment = assess(archive, batch)
            if assessment is None:
                continue
            said = own_findings(with_issued_plan(assessment))
            # What stops the forecast of a batch is told with it, in whichever file the cause is.
            findings += [
                f for f in said
                if files is None or f.position.file in files or f.severity >= Severity.MAJOR
            ]  # fmt: skip
    return once(findings)


def checked(
    root: Path,
    named: Collection[str] | None = None,
    *,
    keep: bool = False,
    progress: Progress = tell_nobody,
) -> Checked:
    """Check an archive: all of it, or the files and folders named below its folder.

    Of all of it, a record that stands as it was looked at before is not looked at again. ``keep``
    lets what was found be noted in the output folder for the next time: where there is such a
    folder, or so many records that it is worth one, and where it can be written.
    """
    return _named(root, named, progress) if named is not None else _all(root, keep, progress)


def _all(root: Path, keep: bool, progress: Progress) -> Checked:
    # What makes summaries is not loaded for a record or two.
    from reportgen.archive.summaries import survey

    keep = keep and ((root / OUTPUT).is_dir() or len(record_names(root)) >= MANY)
    try:
        known = survey(root, root / OUTPUT, progress, keep=keep)
    except CannotWrite:
        if not keep:
            raise
        # What is found does not hang on whether it can be kept.
        known = survey(root, root / OUTPUT, progress, keep=False)
    findings = {*misnamed(root), *known.register.findings}
    for row in known.rows.values():
        findings |= set(row.findings)
    return Checked(tuple(each_name_once(findings)), len(known.register.files))


def _named(root: Path, named: Collection[str], progress: Progress) -> Checked:
    listing = listing_of(root)
    records = [name for name in listing.names if lies_in(name, named)]
    others = frozenset(named) - frozenset(records)
    findings = {folder for folder in misnamed(root) if lies_in(folder.position.file, named)}
    batches = 0
    takings: list[BatchTakings] = []
    # Where no record is named, the house's files are looked at all the same.
    shares = portions(records, LARGEST, fewest=FEWEST) or [()]
    for portion in in_order(partial(_portion, root, listing, others), shares):
        findings.update(portion.findings)
        batches += portion.batches
        takings += portion.takings
    files = {*records, *others}
    if STOCK in others or any(taken.brewed is None for taken in takings):
        house = load_archive(root, names(), only=(), listing=listing)
        findings.update(_of_store(house, files, {}, progress))
    else:
        findings.update(_of_containers(root, listing, files, takings, {}))
    return Checked(tuple(each_name_once(findings)), batches)


def checked_unsaved(archive: Archive, file: str, progress: Progress = tell_nobody) -> Checked:
    """Check one record whose text is not that of its file; ``archive`` has it, and no other."""
    source = archive.sources.get(file)
    findings = findings_in(archive, {file})
    own = [batch for batch in archive.batches.values() if batch.file == file]
    if source is not None:
        given = {file: source.data}
        takings = _takings(archive, own)
        if any(taken.brewed is None for taken in takings):
            findings += _of_store(archive, {file}, given, progress)
        else:
            listing = listing_of(archive.root, given)
            findings += _of_containers(archive.root, listing, {file}, takings, given)
    return Checked(tuple(each_name_once(findings)), len(own))


def _takings(archive: Archive, batches: Collection[Batch]) -> list[BatchTakings]:
    if archive.stock is None:
        return []
    records = [batch.record for batch in batches if batch.record is not None]
    taken = (takings_of(record, archive.stock) for record in records)
    return [takings for takings in taken if takings is not None]


def _of_store(
    house: Archive, files: Collection[str], given: Mapping[str, bytes], progress: Progress
) -> list[Finding]:
    """Return what the store has to say of some files: what the others take decides what is left.

    ``given`` are the bytes of files that are taken instead of what is on the disk.
    """
    from reportgen.archive.register import read_register

    if house.stock is None:
        return []
    register = read_register(house.root, names(), progress, given)
    return [f for f in store_findings(house, register.store) if f.position.file in files]


def _of_containers(
    root: Path, listing: Listing, files: Collection[str], takings: Collection[BatchTakings],
    given: Mapping[str, bytes],
) -> list[Finding]:
    """Return what is said in some files of the containers that they fill, out with others perhaps,
    and of the codes on their glasses.

    It is all that the store says of a batch that is brewed. Of the others those are read that
    mention one of them, not the whole archive.
    """
    numbers = {sent.number for taken in takings for sent in taken.sent}
    numbers |= {glass.code for taken in takings for glass in taken.glasses}
    if not numbers:
        return []
    only = {*mentioning(root, listing.names, numbers), *files}
    archive = load_archive(root, names(), given, only, listing)
    if archive.stock is None:
        return []
    filled = [replace(t, takings=()) for t in _takings(archive, archive.batches.values())]
    said = store_findings(archive, store_of(archive.stock, filled))
    return [f for f in said if f.position.file in files]


def _portion(
    root: Path, listing: Listing, others: frozenset[str], records: Sequence[str]
) -> Checked:
    """Check one portion. ``others`` are the files that are no record and wanted all the same."""
    archive = load_archive(root, names(), only=set(records), listing=listing)
    files = {*records, *others}
    own = [batch for batch in archive.batches.values() if batch.file in files]
    return Checked(tuple(findings_in(archive, files)), len(own), tuple(_takings(archive, own)))
