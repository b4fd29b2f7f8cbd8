"""What is known of all batches of an archive at once: small for each, however many there are.

The records are read in portions over the cores, each portion with only what it hangs on; of each
record its file, its ties and what is wrong with it are kept.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property, partial
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reportgen.archive.ties import BatchLinks, ties_of
from reportgen.archive.workers import (
    FEWEST,
    LARGEST,
    Progress,
    in_order,
    portions,
    tell_nobody,
)
from reportgen.checks.base import house_findings, store_findings
from reportgen.loading import load_archive
from reportgen.record.finding import Finding
from reportgen.record.listing import HOUSE, Listing, listing_of
from reportgen.record.load import Archive
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock
from reportgen.store.balance import Store, store_of


class Part(Struct, frozen=True):
    """Some records: the file of each batch, its ties if it can be read, what the loader found."""

    files: Mapping[str, str]
    ties: Mapping[str, BatchLinks]
    findings: tuple[Finding, ...]


class Register(Struct, frozen=True, dict=True):
    """All batches of an archive by id, in order, and the files of the house.

    ``files`` has every batch; ``ties`` only those whose plan can be read in full.
    """

    root: Path
    brewery: Brewery | None
    stock: Stock | None
    files: Mapping[str, str]
    ties: Mapping[str, BatchLinks]
    findings: tuple[Finding, ...]

    @cached_property
    def store(self) -> Store:
        """What is in the store, and what each batch takes; empty without a stock."""
        return self.store_on(None)

    def store_on(self, day: datetime.date | None) -> Store:
        """Return the store as it was in the evening of a day; for None, as far as is written."""
        taken = [ties.store for ties in self.ties.values() if ties.store is not None]
        return store_of(self.stock, taken, day) if self.stock is not None else Store((), ())


def part_of(archive: Archive, files: Collection[str]) -> Part:
    """Return what a loaded archive says of some of its record files."""
    own = {id_: batch for id_, batch in archive.batches.items() if batch.file in files}
    wanted = {*files, *HOUSE}
    return Part(
        {id_: batch.file for id_, batch in own.items()},
        {
            id_: ties_of(batch.record, archive.stock)
            for id_, batch in own.items()
            if batch.record is not None
        },
        tuple(f for f in archive.findings if f.position.file in wanted),
    )


def joined(house: Archive, parts: Iterable[Part]) -> Register:
    """Return the register of an archive from its parts; ``house`` has the files of the house."""
    files: dict[str, str] = {}
    ties: dict[str, BatchLinks] = {}
    findings = dict.fromkeys([*house.findings, *house_findings(house)])
    for part in parts:
        files |= part.files
        ties |= part.ties
        findings |= dict.fromkeys(part.findings)
    register = Register(
        house.root,
        house.brewery,
        house.stock,
        dict(sorted(files.items())),
        dict(sorted(ties.items())),
        tuple(findings),
    )
    of_store = store_findings(house, register.store) if register.store.batches else []
    if house.house is not None:
        of_store += house.house.unheld(house.sources, [tie.goes_by for tie in ties.values()])
    return replace(register, findings=tuple(dict.fromkeys([*findings, *of_store])))


def shares_of(listing: Listing) -> list[tuple[str, ...]]:
    """Return the names of the record files of an archive in portions for the cores."""
    return [tuple(share) for share in portions(listing.names, LARGEST, fewest=FEWEST)]


def read_register(
    root: Path,
    checks: Collection[str] = (),
    progress: Progress = tell_nobody,
    given: Mapping[str, bytes] | None = None,
) -> Register:
    """Read the register of the archive in a folder. ``checks`` are names that may be silenced.

    ``given`` are the bytes of files that are taken instead of what is on the disk.
    """
    listing = listing_of(root, given or {})
    house = load_archive(root, checks, given, only=(), listing=listing)
    work = partial(_part, root, checks, listing, given)
    shares = shares_of(listing)
    return joined(house, _told(in_order(work, shares), shares, progress))


def _told(
    parts: Iterable[Part], shares: Sequence[Sequence[str]], progress: Progress
) -> Iterator[Part]:
    done, total = 0, sum(map(len, shares))
    for share, part in zip(shares, parts, strict=True):
        done += len(share)
        progress(done, total)
        yield part


def _part(
    root: Path, checks: Collection[str], listing: Listing, given: Mapping[str, bytes] | None,
    records: Collection[str],
) -> Part:
    return part_of(load_archive(root, checks, given, set(records), listing), records)
