"""Every field of the three kinds of file counts: changed or left out, something else is told.

The archive in ``full/`` has every field filled. Each place in it is changed in turn; a figure, a
finding, or the text of the record or of a sheet must become another. What the hash of the plan says
does not count: any change of a plan changes that.
"""

from __future__ import annotations

import copy
import datetime
import functools
import json
import os
import re
import shutil
import typing
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import yaml
from PIL import Image

from reportgen.assessment.assess import Assessment, assess
from reportgen.checks import forecast_stops, mistyped
from reportgen.checks.base import house_findings, names, run_checks
from reportgen.loading import load_archive
from reportgen.record.bind import slots
from reportgen.record.fields import About, Entry
from reportgen.record.load import Archive
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Instruments
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Lot, Stock, StockEntry
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Day, Initials, Moment, Reading, Text, When
from reportgen.report.documents import RECORD, SHEETS, WORKING
from reportgen.report.store_list import tables, words_of
from reportgen.store.balance import store_of
from reportgen.store.takings import takings_of
from reportgen.verbs.store import as_data

FULL = Path(__file__).parent / "full"
MODELS: dict[str, type[Entry]] = {
    "brewery.yaml": Brewery,
    "stock.yaml": Stock,
    **{f"2026/2026-0{n}.yaml": Record for n in range(1, 10)},
}
BATCHES = tuple(f"2026-0{n}" for n in range(1, 10))
BREWED = 3
"""The first of them are brewed; the others are plans, one for each form of yeast."""

TELLS_NOTHING = {
    "Record.format": "a file of another format is refused before anything is read",
    "Brewery.format": "the same",
    "Stock.format": "the same",
    "Record.batch": "it is the name of the file, and no other may stand there",
}
"""Fields that may change without a word, or the end of their names, each with the reason."""

SOUND = 5
"""Changes of one value that the files may have, after which it is given up."""

STANDS_BEHIND = {"Brewery.altitude": "air_pressure"}
"""Fields that count where another one of the file is not given."""

READING = {
    "read": Quantity, "sample": Quantity, "at": When, "instrument": Text, "by": Initials,
    "was": Quantity, "amended_by": Initials, "amended_on": Day, "because": Text,
}  # fmt: skip
_PLAIN = About("", "", ())
_NAMED = About("", "", (), names="instruments")


@dataclass(frozen=True, eq=False)
class Place:
    """One place in a file: its keys down to it, the field, what type of value stands there."""

    file: str
    keys: tuple[str | int, ...]
    field: str
    hint: Any
    about: About

    @property
    def value(self) -> str:
        """What stands there."""
        return str(_holder(TREES, self)[self.keys[-1]])

    @property
    def is_free_text(self) -> bool:
        return self.hint is Text and not (
            self.about.choices or self.about.names or self.about.pattern
        )


# The archive as plain data


def read(file: str) -> Any:
    tree = yaml.load((FULL / file).read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    return _with_nulls(tree)


def _with_nulls(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {key: _with_nulls(value) for key, value in tree.items()}
    if isinstance(tree, list):
        return [_with_nulls(item) for item in tree]
    return None if tree == "null" else tree


TREES = {file: read(file) for file in MODELS}


def places(file: str) -> Iterator[Place]:
    """Yield each place of a file at which a value stands."""
    yield from _in_entry(TREES[file], MODELS[file], file, (), MODELS[file].__name__)


def _in_entry(
    tree: Any, cls: type[Entry], file: str, keys: tuple[str | int, ...], field: str
) -> Iterator[Place]:
    by_key = {slot.key: slot for slot in slots(cls)}
    for key, value in tree.items():
        if key == "since":
            for n, part in enumerate(value):
                here = (*keys, "since", n)
                yield Place(file, (*here, "from"), f"{field}.since.from", Day, _PLAIN)
                yield Place(file, (*here, "because"), f"{field}.since.because", Text, _PLAIN)
                rest = {k: v for k, v in part.items() if k not in ("from", "because")}
                yield from _in_entry(rest, cls, file, here, f"{field}.since")
            continue
        slot = by_key[key]
        # What these are is the same question wherever they stand, and one answer is enough.
        name = cls.__name__ if cls in (Instruments, Lot, StockEntry) else field
        yield from _in_value(value, slot.hint, slot.said, file, (*keys, key), f"{name}.{key}")


def _in_value(
    value: Any, hint: Any, about: About, file: str, keys: tuple[str | int, ...], field: str
) -> Iterator[Place]:
    origin = typing.get_origin(hint)
    if value is None:
        return
    if origin is tuple:
        inner = typing.get_args(hint)[0]
        for n, item in enumerate(value):
            yield from _in_value(item, inner, about, file, (*keys, n), field)
    elif origin is dict:
        inner = typing.get_args(hint)[1]
        for name, item in value.items():
            if name == "since":
                yield from _in_since_of_table(item, inner, about, file, keys, field)
            else:
                yield from _in_value(item, inner, about, file, (*keys, name), field)
    elif isinstance(hint, type) and issubclass(hint, Entry):
        yield from _in_entry(value, hint, file, keys, field)
    elif hint is Reading and isinstance(value, dict):
        for key in value:
            yield Place(file, (*keys, key), f"{field}.{key}", READING[key],
                        about if key in ("read", "was")
                        else _NAMED if key == "instrument" else _PLAIN)
    elif hint is Reading:
        yield Place(file, keys, field, Quantity, about)
    else:
        yield Place(file, keys, field, hint, about)


def _in_since_of_table(
    parts: Any, inner: Any, about: About, file: str, keys: tuple[str | int, ...], field: str
) -> Iterator[Place]:
    for n, part in enumerate(parts):
        here = (*keys, "since", n)
        for key, value in part.items():
            if key == "from":
                yield Place(file, (*here, key), f"{field}.since.from", Day, _PLAIN)
            elif key == "because":
                yield Place(file, (*here, key), f"{field}.since.because", Text, _PLAIN)
            else:
                yield from _in_value(value, inner, about, file, (*here, key), f"{field}.since")


def without(trees: dict[str, Any], place: Place) -> dict[str, Any]:
    """Return the files without what stands at a place."""
    changed = copy.deepcopy(trees)
    holder = _holder(changed, place)
    del holder[place.keys[-1]]
    return changed


def changed_to(trees: dict[str, Any], new: list[tuple[Place, str]]) -> dict[str, Any]:
    """Return the files with other texts at some places."""
    changed = copy.deepcopy(trees)
    for place, text in new:
        _holder(changed, place)[place.keys[-1]] = text
    return changed


def _holder(trees: dict[str, Any], place: Place) -> Any:
    holder = trees[place.file]
    for key in place.keys[:-1]:
        holder = holder[key]
    return holder


# Other values


def others(place: Place, old: str) -> Iterator[str]:
    """Yield other texts that may stand at a place."""
    hint, about = place.hint, place.about
    if hint == When:
        hint = Moment if " " in old else Clock
    if hint is Quantity:
        yield from _amounts(old)
    elif hint is Day:
        day = datetime.date.fromisoformat(old)
        for days in (3, -3, 400, -400):
            yield (day + datetime.timedelta(days)).isoformat()
    elif hint is Moment:
        at = datetime.datetime.fromisoformat(old)
        for hours in (5, -5, 100, -100):
            yield (at + datetime.timedelta(hours=hours)).strftime("%Y-%m-%d %H:%M")
    elif hint is Clock:
        at = datetime.datetime.fromisoformat(f"2026-01-01 {old}")
        for minutes in (17, -17, 200):
            yield (at + datetime.timedelta(minutes=minutes)).strftime("%H:%M")
    elif hint is Initials:
        yield from (who for who in ("AB", "CD", "EF") if who != old)
    elif about.choices:
        yield from (choice for choice in about.choices if choice != old)
    elif about.names:
        yield from (name for name in _named(about.names, old) if name != old)
    elif about.pattern:
        yield from ("de", "EUR", "11112222")
    else:
        yield f"{old} zz"


def _amounts(old: str) -> Iterator[str]:
    number, _, unit = old.partition(" ")
    value = float(number)
    decimals = len(number.partition(".")[2])
    if 0.9 < value < 1.2 and decimals >= 3:
        steps = [value + 0.006, value - 0.006]
    else:
        steps = [value * f for f in (1.3, 0.7, 0.2, 0.8, 1.02, 3)] + [value + 1]
    for step in steps:
        text = f"{step:.{decimals}f}"
        if text != number:
            yield f"{text} {unit}".strip()


def _named(table: str, old: str) -> Iterator[str]:
    """Yield the names in a table that are most like one of them: of the same kind."""
    brewery, stock = TREES["brewery.yaml"], TREES["stock.yaml"]
    tables = [brewery[key] for key in ("instruments", "liquors", "containers", "kits")]
    tables += [stock[key] for key in stock if key != "format"]
    if table == "batches":
        yield from BATCHES
    elif table == "checks":
        yield from ("no-label", "weighed-differs")
    else:
        (same,) = (found for found in tables if old in found)
        kind = same[old].get("reads")
        yield from (name for name in same if name != "since" and same[name].get("reads") == kind)


# What is told


@pytest.fixture(autouse=True)
def _no_slip_taken_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """With all values changed at once each is tried as a slip, and as what stops a forecast, which
    is an assessment each; the findings it would stand for are there without it."""
    monkeypatch.setattr(mistyped, "MOST_TRIES", 0)
    monkeypatch.setattr(forecast_stops, "_reading", lambda batch, stage, error: "")
    monkeypatch.setattr(forecast_stops, "_fact", lambda batch, stage, error: None)


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("full") / "house"
    shutil.copytree(FULL, folder)
    (folder / "photos").mkdir()
    for n, colour in enumerate(("brown", "red")):
        Image.new("RGB", (60, 40), colour).save(folder / "photos" / ("mash.png", "a.png")[n])
    return folder


def loaded(root: Path, trees: dict[str, Any]) -> Archive:
    given = {file: json.dumps(tree, indent=1).encode() for file, tree in trees.items()}
    return load_archive(root, names(), given)


_LINE = re.compile(r"line \d+")
_HASH = re.compile(r"\b[0-9a-f]{8,64}\b")
_OF_HASHES = ("plan-changed-since-issued", "numbers-changed-since-issued")


Stage = Callable[[Assessment, bool], Iterator[str]]


def _figures(batch: Assessment, of_issue: bool) -> Iterator[str]:
    books = [
        sorted((k, str(one.value), str(one.uncertainty)) for k, one in book.expected.items())
        for book in (batch.planned, batch.now)
    ]
    read = [(a.key, a.value, a.uncertainty) for a in batch.actuals.values()]
    yield repr((books, read, [(r.limits, r.verdict, r.critical) for r in batch.results]))


def _findings(batch: Assessment, of_issue: bool) -> Iterator[str]:
    yield repr([
        (f.rule, f.severity, f.message, f.expected, f.remedy) for f in run_checks(batch)
        if of_issue or f.rule not in _OF_HASHES
    ])  # fmt: skip


def _house(batch: Assessment, of_issue: bool) -> Iterator[str]:
    """What is found in brewery and stock, and the list of the store, on which all batches draw."""
    archive = batch.archive
    yield repr([(f.rule, f.message) for f in house_findings(archive)])
    assert archive.brewery is not None and archive.stock is not None
    records = (one.record for one in archive.batches.values() if one.record is not None)
    taken = (takings_of(record, archive.stock) for record in records)
    store = store_of(archive.stock, [one for one in taken if one is not None])
    words = words_of(archive.brewery, store)
    yield repr((as_data(store, words), tables(store, words)))


def _texts(batch: Assessment, of_issue: bool) -> Iterator[str]:
    for document in (RECORD, *SHEETS, WORKING):
        if document.applies(batch):
            text = repr(document.view(batch, str(batch.brewery.paper or "A4"), 1))
            # A line taken out of a file moves those after it.
            text = _LINE.sub("line", text)
            yield text if of_issue else _HASH.sub("#", text)


EACH: tuple[Stage, ...] = (_figures, _findings)
"""What is told of each batch, from what is had at once to what takes longer."""


class Teller:
    """What the archive tells as it is, and whether it tells anything else when it is changed."""

    def __init__(self, root: Path, trees: dict[str, Any] = TREES) -> None:
        self.root, self.trees = root, trees
        self.as_is = loaded(root, trees)
        self.wrong = {(f.rule, f.message) for f in self.as_is.findings}
        self.batches = _assessed(self.as_is, BATCHES)
        self.told: dict[tuple[Stage, str, bool], list[str]] = {}

    def before(self, stage: Stage, name: str, issued: bool) -> list[str]:
        """Return what the archive as it is tells of a batch."""
        key = (stage, name, issued)
        if key not in self.told:
            self.told[key] = list(stage(self.batches[BATCHES.index(name)], issued))
        return self.told[key]

    def sound(self, trees: dict[str, Any]) -> Archive | None:
        """Return the archive of changed files; None when the files may not be so."""
        archive = loaded(self.root, trees)
        if {(f.rule, f.message) for f in archive.findings} - self.wrong:
            return None
        whole = all(name in archive.batches for name in BATCHES)
        return archive if whole and all(
            archive.batches[name].record is not None for name in BATCHES
        ) else None

    def counts(self, place: Place) -> bool:
        """Whether another value at a place, or none, changes anything that is told."""
        if place.field in STANDS_BEHIND and self.trees is TREES:
            before = copy.deepcopy(TREES)
            del before[place.file][STANDS_BEHIND[place.field]]
            return Teller(self.root, before).counts(place)
        issued = ".issued." in place.field
        # The batch of the file first: most that is in it is told there.
        own = [name for name in BATCHES if name in place.file]
        order = [*own, *(name for name in BATCHES if name not in own)]
        found: list[list[Assessment]] = []
        for trees in self._ways(place):
            archive = self.sound(trees)
            if archive is None:
                continue
            made = []
            for name in order:
                batch = assess(archive, archive.batches[name])
                if batch is None:
                    break
                made.append(batch)
                if any(self._tells(stage, made[-1], issued) for stage in EACH):
                    return True
            if len(made) < len(order):
                continue
            if self._tells(_house, made[0], issued):
                return True
            found.append(made)
            if len(found) == SOUND:
                break
        texts = order[:BREWED]
        return any(
            self._tells(_texts, batch, issued)
            for made in (*found[:1], *found[1:][-1:])
            for batch in made if batch.batch.id in texts
        )

    def _ways(self, place: Place) -> Iterator[dict[str, Any]]:
        new = list(others(place, place.value))
        for text in new[:2]:
            yield changed_to(self.trees, [(place, text)])
        yield without(self.trees, place)
        for text in new[2:]:
            yield changed_to(self.trees, [(place, text)])

    def _tells(self, stage: Stage, batch: Assessment, issued: bool) -> bool:
        before = iter(self.before(stage, batch.batch.id, issued))
        return any(now != next(before, None) for now in stage(batch, issued))

    def printed(self, marks: dict[Place, str]) -> set[Place]:
        """Return the places of which a mark is told, and was not before, when all have theirs."""
        trees = changed_to(self.trees, list(marks.items()))
        people = {mark: f"of {mark}" for p, mark in marks.items() if p.hint is Initials}
        trees["brewery.yaml"]["people"].update(people)
        batches = _assessed(loaded(self.root, trees), BATCHES)
        text = "\n".join(
            part for batch in batches if batch.batch.id in BATCHES[:BREWED]
            for stage in (_findings, _texts) for part in stage(batch, True)
        )
        before = "\n".join(
            part for name in BATCHES[:BREWED] for stage in (_findings, _texts)
            for part in self.before(stage, name, True)
        )
        now, then = set(_TOKEN.findall(text)), set(_TOKEN.findall(before))
        return {place for place, mark in marks.items() if _key(place, mark) in now - then}


def _key(place: Place, mark: str) -> str:
    """Return what a mark is known by: a number without its unit, the time of a moment."""
    return mark.split(" ")[0 if place.hint is Quantity else -1]


_TOKEN = re.compile(r"\w+(?:[.:-]\w+)*")


def _assessed(archive: Archive, names: Iterable[str]) -> list[Assessment]:
    found = [assess(archive, archive.batches[name]) for name in names if name in archive.batches]
    return [batch for batch in found if batch is not None]


def word(place: Place) -> str:
    """Return a word of its own, or initials, for a place; empty where none may stand."""
    number = ALL_PLACES.index(place)
    if place.hint is Initials:
        return f"Q{number}"
    return f"zz{number}q" if place.is_free_text else ""


def nudged(place: Place, used: set[str]) -> str:
    """Return a number, day or time beside the one at a place, that stands nowhere else."""
    old = place.value
    hint = (Moment if " " in old else Clock) if place.hint == When else place.hint
    if hint is Quantity:
        number, _, unit = old.partition(" ")
        decimals = len(number.partition(".")[2])
        steps = (f"{float(number) + n * 10 ** -(decimals or 1):.{decimals or 1}f}"
                 for n in range(1, 30))
        return next((f"{new} {unit}".strip() for new in steps if new not in used), "")
    if hint in (Day, Moment, Clock):
        at = datetime.datetime.fromisoformat(f"2026-01-01 {old}" if hint is Clock else old)
        for n in range(1, 300):
            new = at + datetime.timedelta(**{"days" if hint is Day else "minutes": n})
            text = new.strftime({Day: "%Y-%m-%d", Clock: "%H:%M"}.get(hint, "%Y-%m-%d %H:%M"))
            if text.split(" ")[-1] not in used:
                return text
    return ""


ALL_PLACES = [place for file in MODELS for place in places(file)]


def by_field(found: Iterable[Place]) -> dict[str, list[Place]]:
    fields: dict[str, list[Place]] = {}
    for place in found:
        fields.setdefault(place.field, []).append(place)
    return fields


@functools.cache
def teller(root: Path) -> Teller:
    return Teller(root)


def ignored(root: Path, fields: dict[str, list[Place]]) -> list[str]:
    """Return the fields no place of which counts."""
    tells = teller(root)
    left = [place for found in fields.values() for place in found]
    words = {place: mark for place in left if (mark := word(place))}
    done = {place.field for place in tells.printed(words)}
    used = set(_TOKEN.findall("\n".join(json.dumps(tree) for tree in TREES.values())))
    near: dict[Place, str] = {}
    for place in left:
        new = nudged(place, used)
        if new and place.file.startswith("2026"):
            near[place] = new
            used.update(new.split(" "))
    done |= {place.field for place in tells.printed(near)}
    return [
        field for field, found in fields.items()
        if field not in done and not any(tells.counts(place) for place in found)
    ]  # fmt: skip


FIELDS = by_field(
    place for place in ALL_PLACES if not place.field.endswith(tuple(TELLS_NOTHING))
)  # fmt: skip
PARTS = 48
"""Parts that the fields are walked in, for as many processes."""
WALKED = PARTS if os.environ.get("REPORTGEN_FIELDS") else 1
"""Parts that run with the suite; all of them take some minutes."""


@pytest.mark.parametrize("part", range(WALKED))
def test_no_field_is_ignored(root: Path, part: int) -> None:
    assert ignored(root, dict(list(FIELDS.items())[part::PARTS])) == []


def test_every_field_is_filled() -> None:
    """A field that is added to a model is added to the archive in ``full/`` as well."""
    wanted = {f"{cls.__name__}.{slot.key}" for cls in _classes() for slot in slots(cls)}
    filled: set[str] = set()
    for file, cls in MODELS.items():
        filled |= set(_filled(TREES[file], cls))
    assert wanted - filled == set()


def test_the_reasons_are_of_fields_that_there_are() -> None:
    ends = {place.field for place in ALL_PLACES}
    assert all(any(field.endswith(end) for field in ends) for end in TELLS_NOTHING)


def _classes() -> Iterator[type[Entry]]:
    seen: set[type[Entry]] = set()
    left: list[type[Entry]] = [Record, Brewery, Stock]
    while left:
        cls = left.pop()
        if cls in seen:
            continue
        seen.add(cls)
        yield cls
        for slot in slots(cls):
            for hint in (slot.hint, *typing.get_args(slot.hint)):
                if isinstance(hint, type) and issubclass(hint, Entry):
                    left.append(hint)


def _filled(tree: Any, cls: type[Entry]) -> Iterator[str]:
    by_key = {slot.key: slot.hint for slot in slots(cls)}
    for key, value in tree.items():
        if key not in by_key or value is None:
            continue
        yield f"{cls.__name__}.{key}"
        hint = by_key[key]
        inner = next((h for h in (hint, *typing.get_args(hint))
                      if isinstance(h, type) and issubclass(h, Entry)), None)
        if inner is None:
            continue
        if typing.get_origin(hint) is None:
            entries = [value]
        else:
            named = {} if isinstance(value, list) else {**value, "since": None}
            entries = value if isinstance(value, list) else [e for e in named.values() if e]
        for entry in entries:
            yield from _filled(entry, inner)
