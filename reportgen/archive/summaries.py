"""The summaries of all batches: taken over where nothing has changed, else assessed anew.

What was assessed stands in ``.summaries.json`` in the output folder, a batch a line, each with
the key of everything it was made from; it may be deleted at any time. Never are all summaries
held at once: a row of each is, and the rest is read back when it is asked for.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterator, Mapping, Set
from contextlib import nullcontext
from functools import cache, partial
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.json import Decoder

from reportgen import __version__
from reportgen.archive.build import key_of, parts_now, tool_digest
from reportgen.archive.issued import with_issued_plan
from reportgen.archive.register import Part, Register, joined, part_of, shares_of
from reportgen.archive.summary import Summary, as_json, summary_of
from reportgen.archive.ties import BatchLinks, ties_data, ties_from
from reportgen.archive.workers import Progress, in_order
from reportgen.archive.write import whole_or_not
from reportgen.assessment.assess import assess
from reportgen.checks.base import names, own_findings
from reportgen.history.row import BatchRow, row_of
from reportgen.loading import load_archive
from reportgen.photos import PART, photo_part
from reportgen.record.failure import noted
from reportgen.record.finding import Finding
from reportgen.record.listing import BREWERY, STOCK, Listing, listing_of
from reportgen.record.load import Archive, Batch

CACHE = ".summaries.json"


class SummaryLine(Struct, frozen=True):
    """What a line of the file keeps of one batch: the key it was made from, its summary.

    ``hangs_on`` are the record files that the key stands for, its own first, and photographs,
    ``beside`` other batches that must be there, ``ties`` its ties. A record that the loader found
    nothing wrong in need not be read again while all of these are as they were; of any other they
    are empty.
    """

    key: str
    hangs_on: tuple[str, ...]
    beside: tuple[str, ...]
    ties: dict[str, Any] | None
    summary: Summary


class SummaryIndex(Mapping[str, Summary]):
    """The summaries in a file, by batch id; each is read when it is asked for.

    What the file has that is no summary is passed over. A table of sqlite3 in its place is no
    faster and no smaller in memory (10,000 batches: 0.3 s of 4.8 s are spent on reading lines), a
    third larger on disk, and its bytes hang on the version of the library.
    """

    _LINE = re.compile(rb'("([\w.-]+)": (\{"key":.+\})),?\n?')

    def __init__(self, file: Path) -> None:
        self.file = file
        self._places: dict[str, int] = {}
        try:
            with file.open("rb") as lines:
                place = 0
                for line in lines:
                    if match := self._LINE.fullmatch(line):
                        self._places[match[2].decode("ascii")] = place
                    place += len(line)
        except OSError:
            # None kept yet, or no longer to be read: all are made anew.
            self._places.clear()

    def __getitem__(self, batch: str) -> Summary:
        """Return a summary. KeyError when there is none, or none that can be read."""
        entry = self.entry(batch)
        if entry is None:
            raise KeyError(batch)
        return entry[1].summary

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)

    def entry(self, batch: str) -> tuple[bytes, SummaryLine] | None:
        """Return the line of a batch and what it says; None without one that can be read."""
        place = self._places.get(batch)
        if place is None:
            return None
        try:
            with self.file.open("rb") as lines:
                lines.seek(place)
                match = self._LINE.fullmatch(lines.readline())
            # Another run may have put another file in its place meanwhile.
            if match is None or match[2].decode("ascii") != batch:
                return None
            return match[1], _decoder().decode(match[3])
        except (OSError, ValueError):
            return None


@cache
def _decoder() -> Decoder[SummaryLine]:
    """Return what reads a line; made once, and only where a line is read."""
    return Decoder(SummaryLine)


def line_of(
    batch: str,
    key: str,
    summary: Summary,
    hangs_on: Collection[str] = (),
    beside: Collection[str] = (),
    ties: BatchLinks | None = None,
) -> bytes:
    """Return the line of a file of summaries; all of them between braces are one JSON object."""
    own = None if ties is None else ties_data(ties)
    data = SummaryLine(key, tuple(hangs_on), tuple(beside), own, summary)
    return f'"{batch}": '.encode() + as_json(data)


class Surveyed(Struct, frozen=True):
    """A batch that can be assessed: its row, its line in the file of summaries if that is wanted.

    ``anew`` says that it was assessed, not taken over.
    """

    row: BatchRow
    line: bytes
    anew: bool


class Survey(Struct, frozen=True):
    """All batches of an archive: what ties them, and a row of each by its id, in order.

    ``lost`` are batches that cannot be assessed; ``assessed`` counts those that were made anew.
    ``says`` is a digest of all that is known, if the summaries are kept: with the same one, pages
    made from a survey and the files of the house say the same.
    """

    register: Register
    rows: Mapping[str, BatchRow]
    lost: tuple[str, ...]
    assessed: int
    says: str = ""


def linked(archive: Archive, batch: Batch) -> dict[str, str]:
    """Return the content digest of each record that a batch's figures hang on, by file.

    Its own, those its plan starts from, and those its yeast comes from. One that cannot be read
    stands there by its id, so that it counts when it can be. Its photographs are among them.
    """
    parts = {batch.file: batch.source.content}
    pending = [batch]
    while pending:
        for id_ in pending.pop().links:
            linked_batch = archive.batches.get(id_)
            if linked_batch is None:
                parts[f"batch {id_}"] = "not read"
            elif linked_batch.file not in parts:
                parts[linked_batch.file] = linked_batch.source.content
                pending.append(linked_batch)
    for photo in batch.record.photos if batch.record is not None else ():
        parts |= photo_part(archive.root, str(photo.file))
    return parts


def _house_parts(house: Archive) -> dict[str, str]:
    """Return what every summary is made from besides records: the tool, the files of the house."""
    files = {n: house.sources[n].content for n in (BREWERY, STOCK) if n in house.sources}
    # Where nothing is printed no photograph is opened, so less is found.
    opens = "yes" if find_spec("PIL") is not None else "no"
    return {"version": __version__, "tool": tool_digest(), "opens photographs": opens, **files}


def summarised(archive: Archive, batch: Batch) -> tuple[Summary, bool] | None:
    """Assess one batch, run the checks over it and return its summary; None when it cannot be.

    Beside it stands whether all of it hangs on files that have a key. What git knows of an issued
    plan may change beside them.
    """
    assessment = assess(archive, batch)
    if assessment is None:
        return None
    issued = with_issued_plan(assessment)
    return summary_of(issued, tuple(own_findings(issued))), issued is assessment


def survey(root: Path, output: Path, progress: Progress, *, keep: bool) -> Survey:
    """Look at all batches of an archive, in portions over the cores.

    ``keep`` writes every summary into ``output``, for :class:`SummaryIndex` to read and for the
    next time; not when the house's files cannot be read, since there would be none.
    """
    listing = listing_of(root)
    house = load_archive(root, names(), only=(), listing=listing)
    keep = keep and house.brewery is not None and house.stock is not None
    shares = shares_of(listing)
    common = _house_parts(house)
    work = partial(_surveyed, root, listing, common, SummaryIndex(output / CACHE), keep)
    parts: list[Part] = []
    rows: dict[str, BatchRow] = {}
    assessed = done = 0
    total = sum(map(len, shares))
    says = hashlib.sha256()
    with whole_or_not(output / CACHE) if keep else nullcontext() as file:
        mark = b"{\n"
        for share, (part, surveyed) in zip(shares, in_order(work, shares), strict=True):
            parts.append(part)
            for entry in surveyed:
                rows[entry.row.id] = entry.row
                assessed += entry.anew
                if file is not None:
                    file.write(mark + entry.line)
                    mark = b",\n"
                    # All but the key, which a remark in the record changes too.
                    says.update(entry.row.id.encode() + entry.line.partition(b'"hangs_on"')[2])
            done += len(share)
            progress(done, total)
        if file is not None:
            file.write(b"\n}\n" if rows else b"{}\n")
    register = joined(house, parts)
    lost = tuple(id_ for id_ in register.files if id_ not in rows)
    # Ties of a record with a fault do not stand in its line; findings of the loader in none.
    rest = [ties_data(ties) for ties in register.ties.values()], lost, register.findings
    says.update(repr(rest).encode())
    return Survey(register, dict(sorted(rows.items())), lost, assessed, says.hexdigest())


def _surveyed(
    root: Path,
    listing: Listing,
    common: Mapping[str, str],
    before: SummaryIndex,
    keep: bool,
    records: Collection[str],
) -> tuple[Part, list[Surveyed]]:
    """Look at one portion of an archive's records; what stands is not even read."""
    files: dict[str, str] = {}
    ties: dict[str, BatchLinks] = {}
    surveyed: dict[str, Surveyed] = {}
    for name in records:
        id_ = Path(name).stem
        line, entry = before.entry(id_) or (b"", None)
        own = None if entry is None else _standing_ties(root, entry, name, listing, common)
        if entry is not None and own is not None:
            files[id_], ties[id_] = name, own
            surveyed[id_] = Surveyed(row_of(entry.summary), line, False)
    part = Part(files, ties, ())
    rest = set(records).difference(files.values())
    if rest:
        archive = load_archive(root, names(), only=rest, listing=listing)
        anew = part_of(archive, rest)
        part = Part({**files, **anew.files}, {**ties, **anew.ties}, anew.findings)
        faulty = {finding.position.file for finding in archive.findings}
        failures: list[Finding] = []
        for id_, file in anew.files.items():
            with noted(file, failures):
                batch = archive.batches[id_]
                seen = _looked_at(archive, batch, anew, faulty, common, before, keep)
                if seen is not None:
                    surveyed[id_] = seen
        part = Part(part.files, part.ties, (*part.findings, *failures))
    return part, [surveyed[id_] for id_ in sorted(surveyed)]


def _standing_ties(
    root: Path, entry: SummaryLine, name: str, listing: Listing, common: Mapping[str, str]
) -> BatchLinks | None:
    """Return the ties kept of a record; None if loading it again may give something else.

    It would not when the loader found nothing wrong in it, every file it hangs on is as it was
    and the only one with its id, and the batches it names are still there.
    """
    files = [file for file in entry.hangs_on if not file.startswith(PART)]
    parts = parts_now(root, entry.hangs_on, listing.digests)
    stands = (
        files[:1] == [name]
        and parts is not None
        and listing.ids.known >= {*entry.beside, *(Path(file).stem for file in files)}
        and all(listing.ids.files_of(Path(file).stem) == (file,) for file in files)
        and entry.key == key_of({**common, **parts})
    )
    if not stands or entry.ties is None:
        return None
    try:
        return ties_from(entry.ties)
    except (ValueError, TypeError, KeyError, AttributeError, IndexError):
        return None


def _looked_at(
    archive: Archive,
    batch: Batch,
    part: Part,
    faulty: Set[str],
    common: Mapping[str, str],
    before: SummaryIndex,
    keep: bool,
) -> Surveyed | None:
    """Look at one batch that was read; None when it cannot be assessed."""
    parts = linked(archive, batch)
    key = key_of({**common, **parts})
    kept = before.entry(batch.id)
    # What is wrong may lie in a file that the key does not know, such as another with the same id.
    sound = faulty.isdisjoint(parts)
    taken = sound and kept is not None and kept[1].key == key and kept[1].hangs_on != ()
    if kept is not None and taken:
        summary, keyed = kept[1].summary, True
    else:
        made = summarised(archive, batch)
        if made is None:
            return None
        summary, keyed = made
    line = b""
    if keep and not (sound and keyed):
        line = line_of(batch.id, key, summary)
    elif keep:
        beside = {t.against for t in summary.tastings if t.against}
        line = line_of(batch.id, key, summary, parts, sorted(beside), part.ties.get(batch.id))
    return Surveyed(row_of(summary), line, not taken)
