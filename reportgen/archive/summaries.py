"""The summaries of all batches: taken over where nothing has changed, else assessed anew.

What was assessed stands in ``.summaries.json`` in the output folder, a batch a line, each with
the key of everything it was made from; it may be deleted at any time. Never are all summaries
held at once: a row of each is, and the rest is read back when it is asked for.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterator, Mapping
from contextlib import nullcontext
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from reportgen import __version__
from reportgen.archive.build import key_of, tool_digest
from reportgen.archive.issued import with_issued_plan
from reportgen.archive.register import Part, Register, joined, part_of, shares_of
from reportgen.archive.row import Row, row_of
from reportgen.archive.summary import Summary, from_data, summary_of, to_data
from reportgen.archive.workers import in_order
from reportgen.archive.write import whole_or_not
from reportgen.assess import assess
from reportgen.checks.base import names, run_checks
from reportgen.record.load import BREWERY, STOCK, Archive, Batch, load_archive

CACHE = ".summaries.json"

Progress = Callable[[int, int], None]
"""Told now and then: how many batches have been looked at, of how many."""


class Kept(Mapping[str, Summary]):
    """The summaries in a file, by batch id; each is read when it is asked for.

    What the file has that is no summary is passed over.
    """

    _LINE = re.compile(rb'"([\w.-]+)": \{"key": "([0-9a-f]+)", "summary": (.+)\},?\n?')

    def __init__(self, file: Path) -> None:
        self.file = file
        self._places: dict[str, int] = {}
        try:
            with file.open("rb") as lines:
                place = 0
                for line in lines:
                    if found := self._LINE.fullmatch(line):
                        self._places[found[1].decode("ascii")] = place
                    place += len(line)
        except OSError:
            # None kept yet, or no longer to be read: all are made anew.
            self._places.clear()

    def __getitem__(self, batch: str) -> Summary:
        """Return a summary. KeyError when there is none, or none that can be read."""
        found = self._entry(batch)
        if found is None:
            raise KeyError(batch)
        return found[1]

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)

    def made_from(self, batch: str, key: str) -> Summary | None:
        """Return a summary if it was made from what a key stands for."""
        found = self._entry(batch)
        return found[1] if found is not None and found[0] == key else None

    def _entry(self, batch: str) -> tuple[str, Summary] | None:
        place = self._places.get(batch)
        if place is None:
            return None
        try:
            with self.file.open("rb") as lines:
                lines.seek(place)
                found = self._LINE.fullmatch(lines.readline())
            # Another run may have put another file in its place meanwhile.
            if found is None or found[1].decode("ascii") != batch:
                return None
            return found[2].decode("ascii"), from_data(json.loads(found[3]))
        except (OSError, ValueError, TypeError, KeyError, AttributeError, IndexError):
            return None


def line_of(batch: str, key: str, summary: Summary) -> bytes:
    """Return the line of a file of summaries; all of them between braces are one JSON object."""
    data = json.dumps(to_data(summary), ensure_ascii=False)
    return f'"{batch}": {{"key": "{key}", "summary": {data}}}'.encode()


@dataclass(frozen=True)
class Surveyed:
    """A batch that can be assessed: its row, its line in the file of summaries if that is wanted.

    ``anew`` says that it was assessed, not taken over.
    """

    row: Row
    line: bytes
    anew: bool


@dataclass(frozen=True)
class Survey:
    """All batches of an archive: what ties them, and a row of each by its id, in order.

    ``lost`` are batches that cannot be assessed; ``assessed`` counts those that were made anew.
    """

    register: Register
    rows: Mapping[str, Row]
    lost: tuple[str, ...]
    assessed: int


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


def summarise(archive: Archive, batch: Batch) -> Summary | None:
    """Assess one batch, run the checks over it and return its summary; None when it cannot be."""
    assessment = assess(archive, batch)
    if assessment is None:
        return None
    return summary_of(assessment, tuple(run_checks(with_issued_plan(assessment))))


def survey(root: Path, output: Path, progress: Progress, *, keep: bool) -> Survey:
    """Look at all batches of an archive, in portions over the cores.

    ``keep`` writes every summary into ``output``, for :class:`Kept` to read and for the next time;
    not when the house's files cannot be read, since there would be none.
    """
    house = load_archive(root, names(), only=())
    keep = keep and house.brewery is not None and house.stock is not None
    shares = shares_of(root)
    work = partial(_surveyed, root, Kept(output / CACHE), keep)
    parts: list[Part] = []
    rows: dict[str, Row] = {}
    assessed = done = 0
    total = sum(map(len, shares))
    with whole_or_not(output / CACHE) if keep else nullcontext() as file:
        mark = b"{\n"
        for share, (part, found) in zip(shares, in_order(work, shares), strict=True):
            parts.append(part)
            for one in found:
                rows[one.row.id] = one.row
                assessed += one.anew
                if file is not None:
                    file.write(mark + one.line)
                    mark = b",\n"
            done += len(share)
            progress(done, total)
        if file is not None:
            file.write(b"\n}\n" if rows else b"{}\n")
    register = joined(house, parts)
    lost = tuple(id_ for id_ in register.files if id_ not in rows)
    return Survey(register, dict(sorted(rows.items())), lost, assessed)


def _surveyed(
    root: Path, before: Kept, keep: bool, records: Collection[str]
) -> tuple[Part, list[Surveyed]]:
    """Look at one portion of an archive's records."""
    archive = load_archive(root, names(), only=set(records))
    part = part_of(archive, records)
    found = []
    for id_ in part.files:
        key = _key(archive, archive.batches[id_])
        kept = before.made_from(id_, key)
        summary = kept if kept is not None else summarise(archive, archive.batches[id_])
        if summary is not None:
            line = line_of(id_, key, summary) if keep else b""
            found.append(Surveyed(row_of(summary), line, kept is None))
    return part, found
