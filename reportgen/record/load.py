"""Loads an archive: its three kinds of file, read, validated, bound and linked.

Nothing is printed or raised for bad content: everything that is wrong comes back as findings.
"""

from __future__ import annotations

import bisect
import datetime
import hashlib
import json
from collections.abc import Callable, Collection, Iterable, Iterator
from collections.abc import Mapping as MappingOf
from functools import lru_cache
from pathlib import Path
from typing import TypeAlias

from msgspec import Struct

from reportgen.record import since
from reportgen.record.bind import Binder, Tables
from reportgen.record.describe import FILES, NOT_HANDED_ON
from reportgen.record.each_value import with_value
from reportgen.record.failure import noted
from reportgen.record.fields import Entry
from reportgen.record.finding import Finding, Position, Severity
from reportgen.record.grist_or_none import misfits
from reportgen.record.ids import at_home, linked_ids
from reportgen.record.listing import (
    BREWERY,
    STOCK,
    Listing,
    leads_out,
    listing_of,
    record_names,
)
from reportgen.record.model.batch import ID, Record
from reportgen.record.model.brewery import Brewery, stated_gallon
from reportgen.record.model.plan import Plan
from reportgen.record.model.stock import TABLES, Stock
from reportgen.record.rules import finding_of
from reportgen.record.source import Source, read_source, source_from_bytes
from reportgen.record.suggest import nearest
from reportgen.record.typed import wrong_figures
from reportgen.record.units import Quantity
from reportgen.record.yamlnode import below, is_null, laid_over, mapping_below, text_below
from reportgen.record.yamltree import Mapping, Node, Scalar, Sequence, parse, plain


class Batch(Struct, frozen=True):
    """One record of an archive.

    ``record`` is None when a part of the plan cannot be read; ``plan_hash`` is then empty.
    ``faulty`` names the sections with an error in them: what was left out of these may be what
    is missed there. ``links`` are the ids of the batches that it cannot be judged without, whether
    these are there or not.
    """

    file: str
    source: Source
    record: Record | None
    plan_hash: str
    plan: MappingOf[str, object]
    faulty: frozenset[str] = frozenset()
    links: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """The batch id: that of the record, or the file's name."""
        return str(self.record.batch) if self.record else Path(self.file).stem


class Archive(Struct, frozen=True):
    """Everything a brewer keeps, as far as it could be read, and all that is wrong with it."""

    root: Path
    brewery: Brewery | None
    stock: Stock | None
    batches: MappingOf[str, Batch]
    findings: tuple[Finding, ...]
    sources: MappingOf[str, Source]
    is_whole: bool = False
    """Whether every record of the folder was wanted, not just some."""
    house: House | None = None

    def record(self, batch: str | None) -> Record | None:
        """Return the record of a batch that another names; None for none, or an unread one."""
        named = self.batches.get(batch or "")
        return named.record if named is not None else None

    def on(self, day: datetime.date | None) -> tuple[Brewery | None, Stock | None]:
        """Return brewery and stock as they were on a day; None is the latest of all."""
        if self.house is None or day is None:
            return self.brewery, self.stock
        return self.house.on(day)

    def changed(self, day: datetime.date | None) -> tuple[since.Held, ...]:
        """Return the changes of brewery and stock that hold on a day; None is the latest of all."""
        return () if self.house is None else self.house.changed(day)

    def lines(self) -> dict[str, tuple[str, ...]]:
        """Return the lines of each file, to show the one a finding is about."""
        return {file: source.lines for file, source in self.sources.items()}

    def line(self, position: Position) -> str:
        """Return the source line at a position; empty if there is none."""
        source = self.sources.get(position.file)
        if source is None or not 0 < position.line <= len(source.lines):
            return ""
        return source.lines[position.line - 1]


class House:
    """The two files of a brewery, bound as they were on any day."""

    def __init__(self, brewery: Node | None, stock: Node | None, binder: Binder) -> None:
        self._trees, self._binder = (brewery, stock), binder
        self._days = sorted({d for tree in self._trees if tree for d in since.days(tree)})
        self._bound: dict[int, tuple[Brewery | None, Stock | None]] = {}

    def unheld(
        self, sources: MappingOf[str, Source], batches: Iterable[datetime.date | None]
    ) -> Iterator[Finding]:
        """Yield what is odd of the days in the two files beside those that all batches go by."""
        days = list(batches)
        for name, tree in zip((BREWERY, STOCK), self._trees, strict=True):
            if tree is not None and name in sources:
                yield from since.unheld(tree, sources[name], days)

    def changed(self, day: datetime.date | None) -> tuple[since.Held, ...]:
        """Return the changes that hold on a day, of the brewery first."""
        return tuple(
            change for tree in self._trees if tree is not None for change in since.held(tree, day)
        )

    def on(self, day: datetime.date | None) -> tuple[Brewery | None, Stock | None]:
        """Return brewery and stock on a day; None is the latest of all."""
        place = len(self._days) if day is None else bisect.bisect_right(self._days, day)
        if place not in self._bound:
            then = self._days[place - 1] if place else datetime.date.min
            brewery, stock = (
                None if tree is None else since.on(tree, then) for tree in self._trees
            )
            whole = self._binder.whole
            self._bound[place] = whole(brewery, Brewery), whole(stock, Stock)
        return self._bound[place]


class _File(Struct):
    """A file read. ``record`` is what it says where it stands by itself and nothing is wrong."""

    source: Source
    tree: Node
    record: Record | None = None


def _read(
    path: Path, root: Path, given: MappingOf[str, bytes]
) -> tuple[Source | None, list[Finding]]:
    shown = path.relative_to(root).as_posix()
    if shown in given:
        return source_from_bytes(given[shown], shown)
    if leads_out(path, root.resolve()):
        return None, [
            finding_of(
                "link-out",
                Position(shown, 1, 1, 1),
                "this is a link to a file outside the archive; it is not read",
                "a file, or a link to one inside the archive",
            )
        ]
    return read_source(path, shown)


def _parsed(source: Source, findings: list[Finding]) -> _File | None:
    """Return a file's tree, and note what is wrong with its YAML."""
    with noted(source.file, findings):
        tree, faults = parse(source)
        findings += faults
        return None if tree is None else _File(source, tree)
    return None


class _HouseRead(Struct, frozen=True):
    """The two files of a house; what is wrong with their YAML, and with what they say."""

    files: tuple[_File | None, ...]
    misread: list[Finding]
    faults: list[Finding]
    gallon: str | None
    kept: House


@lru_cache(maxsize=4)
def _house_of(
    brewery: Source | None, stock: Source | None, figures: tuple[tuple[str, str], ...] | None
) -> _HouseRead:
    """Read the files of a house, once for the same bytes: nothing in them names a record.

    A verb that changes a plan loads it again, and many records are loaded in portions.
    """
    misread, faults = list[Finding](), list[Finding]()
    files = [None if one is None else _parsed(one, misread) for one in (brewery, stock)]
    gallon = _gallon(files[0].tree if files[0] is not None else None)
    binder = Binder(_tables(files[0], files[1], set(), ()), gallon)
    kinds = None if figures is None else dict(figures)
    for kind, file in zip(("brewery", "stock"), files, strict=True):
        if file is not None:
            with noted(file.source.file, faults):
                faults += _faults_in(file, kind, binder, kinds, gallon)
    # What stands under a key that is not known is read under the one meant, or left out.
    wrong = {
        _spot(f.position) for f in (*misread, *faults)
        if f.severity is Severity.ERROR and f.rule != "unknown-key"
    }
    trees = [None if file is None else _sound_entries(file.tree, wrong) for file in files]
    return _HouseRead(tuple(files), misread, faults, gallon, House(trees[0], trees[1], binder))


def load_archive(
    root: Path,
    checks: Collection[str] = (),
    given: MappingOf[str, bytes] | None = None,
    only: Collection[str] | None = None,
    listing: Listing | None = None,
    figures: MappingOf[str, str] | None = None,
) -> Archive:
    """Load the archive in a folder. ``checks`` are the names that may be silenced.

    ``figures`` has the kind of each figure by its key; tolerances, limits and instruments are held
    against it, and passed over when it is not given.

    ``given`` are the bytes of files that are taken instead of what is on the disk, by their names
    below the folder: what is still unsaved in an editor, for one.

    ``only`` are the record files wanted, named likewise. Of the others just those are read that
    these cannot be judged without, and the archive has no more batches than that; what is said of
    the files wanted is the same. ``listing`` is that of the folder, where the caller has it.
    """
    read = _FilesRead(root, given or {})
    kinds = None if figures is None else tuple(figures.items())
    house = _house_of(read.source(BREWERY), read.source(STOCK), kinds)
    read.findings += house.misread
    read.read_records(only, listing)
    files, findings = read.files, read.findings
    by_id, twins = _by_id(files)
    findings += twins
    brewery_file, stock_file = house.files
    tables = _tables(brewery_file, stock_file, {*by_id, *read.unread}, checks)
    binder = Binder(tables, house.gallon)
    findings += house.faults
    sound = set()
    for name, file in files.items():
        with noted(name, findings):
            faults = _faults_in(file, "record", binder, figures, house.gallon)
            findings += faults
            if not faults:
                sound.add(name)

    # Nothing is bound before every file has been looked at: a fault in a plan is a fault in each
    # that starts from it, and what an error lies on is not taken for a value.
    wrong = {_spot(f.position) for f in findings if f.severity is Severity.ERROR}
    plans, batches = _Plans(by_id), dict[str, Batch]()
    for name, file in files.items():
        with noted(name, findings):
            batch, faults = _batch(file, plans, wrong, name in sound, binder)
            findings += faults
            if by_id.get(batch.id, file) is file:
                batches[batch.id] = batch
    sources = {f.source.file: f.source for f in (*house.files, *files.values()) if f is not None}
    if only is None:
        records = (batch.record for batch in batches.values())
        findings += house.kept.unheld(sources, [r.goes_by for r in records if r is not None])
    told, ordered = tuple(_once(findings)), dict(sorted(batches.items()))
    brewery, stock = house.kept.on(None)
    return Archive(root, brewery, stock, ordered, told, sources, only is None, house.kept)


class _FilesRead:
    """Reads the files of an archive, and keeps what is wrong with them and which could not be read.

    A fault of the tool in one file is said of that file; the others are read all the same.
    """

    def __init__(self, root: Path, given: MappingOf[str, bytes]) -> None:
        self._root, self._given = root, given
        self.findings: list[Finding] = []
        self.files: dict[str, _File] = {}
        self.unread: set[str] = set()

    def source(self, name: str) -> Source | None:
        """Read the text of one file; None where nothing can be made of it."""
        with noted(name, self.findings):
            source, faults = _read(self._root / name, self._root, self._given)
            self.findings += faults
            return source if all(f.severity is not Severity.ERROR for f in faults) else None
        return None

    def record(self, name: str) -> _File | None:
        """Read one record; None for a file of the house in its place."""
        source = self.source(name)
        file = None if source is None else _parsed(source, self.findings)
        if file is not None and (house_file := _house_file(file, self._root)):
            self.findings.append(house_file)
            file = None
        if file is not None:
            self.files[file.source.file] = file
        else:
            self.unread.add(Path(name).stem)
        return file

    def read_records(self, only: Collection[str] | None, listing: Listing | None) -> None:
        """Read every record, or those wanted and all that they hang on."""
        if only is None:
            for name in record_names(self._root, self._given):
                self.record(name)
        else:
            listing = listing or listing_of(self._root, self._given)
            self.unread |= _read_only(listing, only, self.record)
            self.files = dict(sorted(self.files.items(), key=lambda item: self._root / item[0]))


def _faults_in(
    file: _File, kind: str, binder: Binder, figures: MappingOf[str, str] | None, gallon: str | None
) -> list[Finding]:
    """Return what the fields of a file do not allow; a record without fault is kept as it is."""
    tree = _without_nulls(file.tree) if kind == "record" else file.tree
    entry, faults = binder.file(tree, FILES[kind], file.source)
    if isinstance(entry, Record) and tree is file.tree:
        file.record = entry
    if kind != "record":
        faults += since.faults(tree, file.source, {finding.position for finding in faults})
    if figures is not None and not any(finding.rule == "format" for finding in faults):
        # Of a file of another format nothing can be judged.
        changes = since.days(tree) if kind != "record" else []
        for day in (datetime.date.min, *changes):
            then = since.on(tree, day) if changes else tree
            faults += wrong_figures(then, file.source, figures, gallon)
    return _once(faults)


def _read_only(
    listing: Listing, only: Collection[str], read: Callable[[str], _File | None]
) -> frozenset[str]:
    """Read the files wanted and all that they hang on; return every id that the archive has."""
    ids = listing.ids
    pending = list(set(listing.names).intersection(only))
    done: set[str] = set()
    while pending:
        name = pending.pop()
        if name in done:
            continue
        done.add(name)
        file = read(name)
        if file is not None:
            for batch in (_id_of(file)[0], *linked_ids(file.tree)):
                pending.extend(ids.files_of(batch))
    return ids.known


def _house_file(file: _File, root: Path) -> Finding | None:
    """Return the error that a record is a file of the house, elsewhere or under another name."""
    keys = [key for key, _ in file.tree.entries] if isinstance(file.tree, Mapping) else []
    written = {key.text for key in keys}
    kind, known = max(_HOUSE_KEYS.items(), key=lambda item: len(written & item[1]))
    first = next((key for key in keys if key.text in known - _OF_RECORD), None)
    of_a_record = written & _OF_RECORD - known
    if first is None or of_a_record or 2 * len(written & known) <= len(written):
        return None
    right = f"{kind}.yaml"
    where = "in another folder" if Path(file.source.file).name == right else "under another name"
    there = (root / right).exists()
    return finding_of(
        "house-file", first.position, f"this is a {right} {where}, not a record",
        "a record, or a name that does not end in .yaml",
        None if there else f"rename it to {right}, in the folder of the archive",
        file.source.line(first.position.line),
    )  # fmt: skip


_OF_RECORD = Record.fields.keys()
_HOUSE_KEYS = {kind: FILES[kind].fields.keys() for kind in ("brewery", "stock")}


def _once(findings: Iterable[Finding]) -> list[Finding]:
    """Drop repeats: a fault in a plan is met again in each plan that starts from it."""
    return list(dict.fromkeys(findings))


def _gallon(tree: Node | None) -> str | None:
    keys = [below(tree, key) for key in ("gallon", "units")]
    return stated_gallon(*(node.text for node in keys if isinstance(node, Scalar)))


def _id_of(file: _File) -> tuple[str, Position]:
    node = below(file.tree, "batch")
    if isinstance(node, Scalar) and node.text:
        return node.text, node.position
    return Path(file.source.file).stem, file.tree.position


def _by_id(files: MappingOf[str, _File]) -> tuple[dict[str, _File], list[Finding]]:
    by_id: dict[str, _File] = {}
    seen: dict[str, _File] = {}
    findings = []
    for name, file in sorted(files.items(), key=lambda item: at_home(item[0])):
        batch, position = _id_of(file)
        stem = Path(name).stem
        line = file.source.line(position.line)
        # Two ids that differ in capitals only would share their files on many systems.
        first = seen.setdefault(batch.casefold(), file)
        if first is not file:
            findings.append(
                finding_of(
                    "same-batch",
                    position,
                    f"batch `{batch}` is also in {first.source.file}",
                    "each batch id once in the archive; capitals make no other id",
                    line=line,
                )
            )
            continue
        by_id[batch] = file
        if batch != stem and ID.fullmatch(batch):
            findings.append(
                finding_of(
                    "file-name",
                    position,
                    f"the record of batch `{batch}` is in a file named {Path(name).name}",
                    f"{batch}.yaml",
                    line=line,
                )
            )
    return by_id, findings


def _tables(
    brewery: _File | None,
    stock: _File | None,
    batches: set[str],
    checks: Collection[str],
) -> Tables:
    """Return the names of each table as they are written, whether their entries are sound or not.

    So a fault in an entry of the stock is one finding, not one more at each use of its name; and
    a table that is no mapping at all is left out, so that no name is held against it.
    """
    tables: dict[str, Collection[str]] = {"batches": batches}
    if checks:
        tables["checks"] = set(checks)
    for house, kinds in ((brewery, HOUSE_TABLES), (stock, STOCK_TABLES)):
        if house is not None:
            declared = {kind: _keys(house.tree, kind) for kind in kinds}
            tables |= {kind: names for kind, names in declared.items() if names is not None}
    if all(kind in tables for kind in STOCK_TABLES):
        tables["items"] = {name for kind in STOCK_TABLES for name in tables[kind]}
        if "liquors" in tables:
            tables["addable"] = {*tables["items"], *tables["liquors"]}
    return tables


HOUSE_TABLES = ("kits", "instruments", "liquors", "containers")
STOCK_TABLES = tuple(TABLES)


def _keys(tree: Node, table: str) -> set[str] | None:
    if not isinstance(tree, Mapping):
        return None
    tables = (*HOUSE_TABLES, *STOCK_TABLES)
    mistyped = (key for key, _ in tree.entries if key.text not in tables)
    likely = next((key.text for key in mistyped if nearest(key.text, tables) == table), table)
    node = tree.get(table) or tree.get(likely)
    if node is None:
        return set()
    return {key.text for key, _ in node.entries} if isinstance(node, Mapping) else None


def _batch(
    file: _File,
    plans: _Plans,
    wrong: Collection[_Spot],
    sound: bool,
    binder: Binder,
) -> tuple[Batch, list[Finding]]:
    """Return a batch, and what is wrong with its plan once it is put together.

    ``wrong`` are the places with an error, ``sound`` says that the file itself has none.
    """
    tree, findings, complete = plans.with_whole_plan(file)
    if tree is file.tree and not any(spot[0] == file.source.file for spot in wrong):
        record = file.record
    else:
        record = binder.whole(_without(tree, wrong), Record)
    plan_node = mapping_below(tree, "plan")
    plan = plain(plan_node) if plan_node is not None else {}
    if record is None and sound and complete:
        findings += _missing_keys(binder.missing(tree, Record), file.source)
    if record is not None and complete and sound:
        misfitting = misfits(record.plan, file.source)
        findings += misfitting
        complete = not misfitting
    if record is not None and (not complete or _plan_is_unreadable(wrong, plan_node)):
        record = None
    if record is None and sound and not any(f.position.file == file.source.file for f in findings):
        findings += _hangs_on(file, plans.by_id, wrong)
    digest = plan_hash(record.plan) if record is not None else ""
    faulty = frozenset() if sound else _faulty_sections(file.tree, wrong)
    links = tuple(linked_ids(file.tree))
    return Batch(file.source.file, file.source, record, digest, plan, faulty, links), findings


def _hangs_on(
    file: _File, by_id: MappingOf[str, _File], wrong: Collection[_Spot]
) -> Iterator[Finding]:
    """Say of a record without a fault of its own that it hangs on one that cannot be read.

    Where the plans go round in a circle, that is said already.
    """
    first = like = _like_of(file)
    seen = {file.source.file}
    while first is not None and like is not None:
        other = by_id.get(like.text)
        if other is not None and other.source.file in seen:
            return
        # One that is not among the files read is there all the same: a name of none is an error.
        if other is None or any(spot[0] == other.source.file for spot in wrong):
            yield finding_of(
                "plan-not-read",
                first.position,
                f"the plan of batch {first.text} cannot be read, so that nothing is known of "
                "this one",
                "a record without errors",
                f"correct {f'batch {like.text}' if other is None else other.source.file}",
                file.source.line(first.position.line),
            )
            return
        seen.add(other.source.file)
        like = _like_of(other)


def _like_of(file: _File) -> Scalar | None:
    """Return the name of the batch that a plan starts from; None where there is none."""
    like = below(file.tree, "plan", "like")
    return like if isinstance(like, Scalar) else None


def _missing_keys(
    missing: Iterable[tuple[str, Position]], source: Source
) -> list[Finding]:
    """Return what a plan that starts from another still lacks, after both are laid together."""
    return [
        finding_of(
            "missing-key",
            position,
            f"neither this plan nor the one it starts from has `{key}`",
            f"a line `{key}: ...`",
            "",
            source.lines[position.line - 1] if position.file == source.file else "",
        )
        for key, position in missing
    ]


_Spot: TypeAlias = tuple[str, int, int]


def _spot(position: Position) -> _Spot:
    return position.file, position.line, position.column


def _without(node: Node, wrong: Collection[_Spot]) -> Node:
    """Return a tree in which each value that an error lies on is blank."""
    if not wrong:
        return node
    if isinstance(node, Mapping):
        entries = tuple((key, _without(value, wrong)) for key, value in node.entries)
        return Mapping(entries, node.position)
    if isinstance(node, Sequence):
        return Sequence(tuple(_without(item, wrong) for item in node.items), node.position)
    return Scalar("", "", node.position) if _spot(node.position) in wrong else node


def _sound_entries(tree: Node, wrong: Collection[_Spot]) -> Node:
    """Return a file of the house without what an error lies on, and the entries that it is in.

    A kit without its loss or an instrument without its U has others, and all batches with it would
    be judged by these. Of a lot only the value is left out.
    """
    if not wrong or not isinstance(tree, Mapping):
        return _without(tree, wrong)

    def is_sound(key: Node, entry: Node) -> bool:
        own = [n for k, v in entry.entries if k.text != "lots" for n in (k, v)] if isinstance(
            entry, Mapping
        ) else [entry]
        return not any(_has_fault(node, wrong) for node in (key, *own))

    entries = []
    for key, value in tree.entries:
        if key.text in (*HOUSE_TABLES, *STOCK_TABLES) and isinstance(value, Mapping):
            value = Mapping(tuple(e for e in value.entries if is_sound(*e)), value.position)
        entries.append((key, _without(value, wrong)))
    return Mapping(tuple(entries), tree.position)


def _plan_is_unreadable(wrong: Collection[_Spot], plan: Node | None) -> bool:
    """Whether a fault lies within the plan, in this file or in one that it starts from."""
    return plan is not None and _has_fault(plan, wrong)


def _faulty_sections(tree: Node, wrong: Collection[_Spot]) -> frozenset[str]:
    """Return the keys of a record below which there is an error."""
    entries = tree.entries if isinstance(tree, Mapping) else ()
    return frozenset(
        key.text
        for key, value in entries
        if _spot(key.position) in wrong or _has_fault(value, wrong)
    )


def _has_fault(node: Node, wrong: Collection[_Spot]) -> bool:
    return any(_spot(position) in wrong for position in _positions(node))


def _positions(node: Node) -> Iterable[Position]:
    yield node.position
    if isinstance(node, Mapping):
        for key, value in node.entries:
            yield key.position
            yield from _positions(value)
    elif not isinstance(node, Scalar):
        for item in node.items:
            yield from _positions(item)


def plan_hash(plan: object) -> str:
    """Return eight hexadecimal characters of the SHA-256 of a whole plan, or of a part of it.

    Every word and every value counts; how a value is written does not, nor does the order of
    keys: 6600 g is 6.60 kg.
    """
    return _short_hash(_as_json(_values(plan)))


def plan_hash_with(plan: Plan, old: Quantity) -> Callable[[Quantity], str]:
    """Return what gives the hash that a plan has with another quantity in the place of one.

    The rest of the plan is written out once, so that many may be tried.
    """
    before, _, after = _as_json(_values(with_value(plan, old, _PLACE))).partition(_as_json(_PLACE))
    return lambda new: _short_hash(f"{before}{_as_json(new.in_base_unit)}{after}")


_PLACE = "\0"
"""Stands for a value that is put in later; no text of a record has it."""


def _as_json(values: object) -> str:
    return json.dumps(values, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def _short_hash(canonical: str) -> str:
    return hashlib.sha256(canonical.encode()).hexdigest()[:8]


def _values(part: object) -> object:
    """Return a part of a plan as words and values in base units; fields left out are not in it."""
    if isinstance(part, Entry):
        return {
            name: _values(value)
            for name in part.fields
            if (value := getattr(part, name)) not in (None, (), {})
        }
    if isinstance(part, MappingOf):
        return {str(name): _values(value) for name, value in part.items()}
    if isinstance(part, tuple):
        return [_values(value) for value in part]
    if isinstance(part, Quantity):
        return part.in_base_unit
    return str(part)


class _Plans:
    """Completes plans that start from the plan of another batch."""

    def __init__(self, by_id: MappingOf[str, _File]) -> None:
        self.by_id = by_id
        self.whole: dict[str, Mapping] = {}

    def with_whole_plan(self, file: _File) -> tuple[Node, list[Finding], bool]:
        """Return a record's tree with its plan completed, and what stood in the way.

        The last value is False when the plan it starts from cannot be had; the reason is then
        among the findings, or among those of the other file.
        """
        tree, plan = file.tree, mapping_below(file.tree, "plan")
        if not isinstance(tree, Mapping) or plan is None:
            return tree, [], True
        own = _id_of(file)[0]
        # A second file of the same id may well start from the first.
        seen = [own] if self.by_id.get(own) is file else []
        whole, circle, complete = self._completed(plan, seen)
        if seen and complete:
            self.whole[own] = whole
        if whole is not plan:
            tree = tree.with_value("plan", whole)
        return self._with_brew_day(tree, own), circle, complete

    def _with_brew_day(self, tree: Mapping, own: str) -> Mapping:
        """Return a record with the brew day of the batch whose wort it ferments.

        All of it up to the pitching; what is written in the record itself is laid over it, and what
        it added, took out and weighed itself comes after what the other did.
        """
        source, mine = text_below(tree, "wort_from", "batch"), mapping_below(tree, "brew_day")
        other = self.by_id.get(source) if source != own else None
        theirs = mapping_below(other.tree, "brew_day") if other is not None else None
        if mine is None or theirs is None:
            return tree
        return tree.with_value("brew_day", _with_both(_of_the_wort(theirs), mine))

    def _completed(self, plan: Mapping, seen: list[str]) -> tuple[Mapping, list[Finding], bool]:
        """Follow ``like`` from plan to plan, then lay each over the one it starts from."""
        chain = [plan]
        while (like := chain[-1].get("like")) is not None:
            if not isinstance(like, Scalar):
                return plan, [], False
            if like.text in seen:
                return plan, [self._circle(seen[seen.index(like.text) :])], False
            if like.text in self.whole:
                chain.append(self.whole[like.text])
                break
            other = self.by_id.get(like.text)
            base = mapping_below(other.tree, "plan") if other is not None else None
            if base is None:
                return plan, [], False
            seen.append(like.text)
            chain.append(base)
        whole = chain.pop()
        while chain:
            whole = merge(whole, chain.pop())
        return whole, [], True

    def _circle(self, members: list[str]) -> Finding:
        """Return the one finding about a circle, wherever it was entered: at its first batch."""
        first = members.index(min(members))
        ring = [*members[first:], *members[:first], members[first]]
        file = self.by_id[ring[0]]
        like = below(file.tree, "plan", "like")
        position = like.position if like is not None else file.tree.position
        return finding_of(
            "plan-circle",
            position,
            f"the plan starts from itself: {' → '.join(ring)}",
            "a batch that is not in this circle",
            line=file.source.line(position.line),
        )


LISTED = ("added", "taken", "weighed")
"""What a brew day lists of things done, each of which was done whoever wrote it."""


def _with_both(shared: Mapping, own: Mapping) -> Mapping:
    """Lay a brew day over that of the wort; in a list of things done those of both stand."""
    entries = []
    for key, value in own.entries:
        theirs = shared.get(key.text)
        if key.text in LISTED and isinstance(value, Sequence) and isinstance(theirs, Sequence):
            value = Sequence((*theirs.items, *value.items), value.position)
        entries.append((key, value))
    return merge(shared, Mapping(tuple(entries), own.position))


def _of_the_wort(day: Mapping) -> Mapping:
    """Return what of a brew day belongs to the wort, not to one of its fermenters."""
    entries = []
    for key, value in day.entries:
        if key.text == "pitch":
            continue
        if key.text in ("added", "taken") and isinstance(value, Sequence):
            kept = tuple(item for item in value.items if not _is_of_the_fermenter(item))
            value = Sequence(kept, value.position)
        entries.append((key, value))
    return Mapping(tuple(entries), day.position)


def _is_of_the_fermenter(item: Node) -> bool:
    return (text_below(item, "to") or text_below(item, "from")) in ("fermenter", "container")


def without_nulls(plan: Mapping) -> Mapping:
    """Return a plan without the keys that a null is written after; lists are left as they are."""
    entries = tuple(
        (key, without_nulls(value) if isinstance(value, Mapping) else value)
        for key, value in plan.entries
        if not is_null(value)
    )
    return Mapping(entries, plan.position)


def _without_nulls(tree: Node) -> Node:
    """Return a record without the nulls of its plan, where that starts from another."""
    plan = mapping_below(tree, "plan")
    if not isinstance(tree, Mapping) or plan is None or plan.get("like") is None:
        return tree
    return tree.with_value("plan", without_nulls(plan))


def merge(base: Mapping, over: Mapping) -> Mapping:
    """Lay one mapping over another: mappings are merged, lists and values replaced.

    A null laid over a key takes the key away. ``like``, ``revision`` and ``brew_on`` of the
    base are its own and are not handed on.
    """
    return without_nulls(laid_over(base, over, NOT_HANDED_ON))
