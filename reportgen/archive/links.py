"""What ties batches together: lots and where they went, yeast from batch to batch, plans, kits.

Everything here follows from what the records and the stock say; nothing is assessed. What does
not hang together (a parent that is not there, a circle, a lot that the stock does not know) is
told in words and never raised.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TypeVar

from msgspec import Struct, field

from reportgen.archive.register import Register
from reportgen.archive.ties import BatchLinks, Harvested, LotInBatch, LotName, lots_of_item
from reportgen.record.model.stock import TABLES, Lot, Stock
from reportgen.science.yeast import Viability, viability

USUAL_STORE = 4.0
"""Temperature that harvested yeast is taken to be kept at when none is written, degC."""

FRESH = 0.95
"""Viability of a harvest that was not counted."""


Key = TypeVar("Key", str, tuple[str, str])


class LotStory(Struct, frozen=True):
    """A lot and every batch that names it. ``known`` is None when the stock does not have it."""

    name: LotName
    known: Lot | None
    uses: tuple[LotInBatch, ...]


class YeastLink(Struct, frozen=True):
    """The yeast of one batch: where it came from and where it went.

    ``generation`` is as written, ``counted`` follows from the parents. ``age`` is days from the
    parent's harvest to pitching; for new yeast, days since the lot came in. ``living`` is the
    share of cells that may still live, from the published spread; None for new yeast.
    """

    batch: str
    yeast: str
    generation: int | None
    counted: int | None
    parent: str
    lot: str
    pitched: datetime.date | None
    age: int | None
    living: Viability | None
    harvest: Harvested | None
    problems: tuple[str, ...] = ()


class Family(Struct, frozen=True):
    """The batches whose yeast comes from one origin, in order of id.

    ``outside`` is how many batches with that yeast are of another line.
    """

    members: tuple[str, ...]
    known: frozenset[str]
    outside: int


class Links(Struct, frozen=True, dict=True):
    """All ties of an archive, by batch id or by lot; each list in order of id."""

    lots: Mapping[LotName, LotStory]
    yeast: Mapping[str, YeastLink]
    children: Mapping[str, tuple[str, ...]]
    plans: Mapping[str, tuple[str, ...]]
    kits: Mapping[str, tuple[str, ...]]
    circles: tuple[tuple[str, ...], ...]
    unreadable: tuple[str, ...] = ()
    by_batch: Mapping[str, tuple[LotName, ...]] = field(default_factory=dict)

    def ancestors(self, batch: str) -> tuple[str, ...]:
        """Return the batches that the yeast came through, nearest first; a circle ends it."""
        parents: list[str] = []
        link = self.yeast.get(batch)
        while link is not None and link.parent and link.parent not in (batch, *parents):
            parents.append(link.parent)
            link = self.yeast.get(link.parent)
        return tuple(parents)

    def descendants(self, batch: str) -> tuple[str, ...]:
        """Return every batch that the yeast went on to, in order of id."""
        children: set[str] = set()
        pending = list(self.children.get(batch, ()))
        while pending:
            child = pending.pop()
            if child not in children and child != batch:
                children.add(child)
                pending += self.children.get(child, ())
        return tuple(sorted(children))

    @cached_property
    def pitched(self) -> Mapping[str, tuple[str, ...]]:
        """The batches with each yeast."""
        return _grouped((link.yeast, batch) for batch, link in self.yeast.items())

    @cached_property
    def _founders(self) -> Mapping[tuple[str, str], tuple[str, ...]]:
        """The batches pitched with new yeast, by the yeast and its lot."""
        return _grouped(
            ((link.yeast, link.lot), batch)
            for batch, link in self.yeast.items()
            if link.lot and not link.parent
        )

    @cached_property
    def _families(self) -> dict[str, Family]:
        """The families found so far, by their origin: every batch of one asks for the same."""
        return {}

    def family(self, batch: str) -> Family:
        """Return the batches whose yeast comes from the same origin or lot, this one among them.

        KeyError when the batch has no yeast that is known.
        """
        line = (batch, *self.ancestors(batch))
        origin = self.yeast.get(line[-1])
        if origin is None:
            return self._family(set(line), self.yeast[batch].yeast)
        if origin.batch not in self._families:
            founders = self._founders.get((origin.yeast, origin.lot), ()) if origin.lot else ()
            members = {origin.batch, *founders}
            for founder in (origin.batch, *founders):
                members.update(self.descendants(founder))
            self._families[origin.batch] = self._family(members, origin.yeast)
        return self._families[origin.batch]

    def _family(self, members: set[str], yeast: str) -> Family:
        of_yeast = sum(b in self.yeast and self.yeast[b].yeast == yeast for b in members)
        outside = len(self.pitched.get(yeast, ())) - of_yeast
        return Family(tuple(sorted(members)), frozenset(members), outside)

    def yeast_problems(self) -> tuple[str, ...]:
        """Return what is wrong in the descent of the yeasts, each in one sentence."""
        problems = [f"{link.batch}: {p}" for link in self.yeast.values() for p in link.problems]
        problems += ["the yeast goes round in a circle: " + " from ".join(c) for c in self.circles]
        return tuple(problems)

    def problems(self) -> tuple[str, ...]:
        """Return everything that does not hang together, each in one sentence."""
        problems = list(self.yeast_problems())
        problems += [
            f"{', '.join(use.batch for use in story.uses)}: lot {name.lot} of {name.item} is not "
            "in stock.yaml"
            for name, story in self.lots.items()
            if story.known is None
        ]
        problems += [f"{batch}: cannot be read, so its links are not known" for batch in
                  self.unreadable]
        return tuple(problems)


def _lots(ties: Iterable[BatchLinks], stock: Stock) -> dict[LotName, LotStory]:
    uses: dict[LotName, list[LotInBatch]] = {}
    for kind in TABLES:
        for item, entry in getattr(stock, kind).items():
            for lot in entry.lots:
                uses[LotName(kind, str(item), str(lot))] = []
    for tie in ties:
        for name, use in tie.uses:
            uses.setdefault(name, []).append(use)
    order = {kind: number for number, kind in enumerate((*TABLES, ""))}
    return {
        name: LotStory(
            name, lots_of_item(stock, name.kind, name.item).get(name.lot), tuple(uses[name])
        )
        for name in sorted(uses, key=lambda n: (order[n.kind], n.item, n.lot))
    }


def _counted(batch: str, ties: Mapping[str, BatchLinks]) -> int | None:
    """Return the generation that follows from the parents; None in a circle or a broken line."""
    steps = 0
    seen = {batch}
    here = ties.get(batch)
    while here is not None:
        if not here.parent:
            return (here.generation or 0) + steps
        if here.parent in seen:
            return None
        seen.add(here.parent)
        steps += 1
        here = ties.get(here.parent)
    return None


def _living(harvest: Harvested, age: int) -> Viability | None:
    stored = harvest.temperature if harvest.temperature is not None else USUAL_STORE
    fresh = harvest.living if harvest.living is not None else FRESH
    try:
        living: Viability = viability(float(age), stored, "slurry", fresh)
    except ValueError:
        return None
    return living


def _link(tie: BatchLinks, ties: Mapping[str, BatchLinks], stock: Stock | None) -> YeastLink:
    counted = _counted(tie.batch, ties)
    problems: list[str] = []
    age: int | None = None
    living: Viability | None = None
    written = tie.generation
    if tie.parent:
        age, living = _from_parent(tie, ties, problems)
    elif written:
        problems.append(f"generation {written}, but the batch it was harvested from is not written")
    elif tie.lot and tie.brewed is not None and stock is not None:
        known = lots_of_item(stock, "yeasts", tie.yeast).get(tie.lot)
        if known is not None and known.received is not None:
            age = (tie.brewed - known.received.date).days
    if tie.parent and written is not None and counted is not None and written != counted:
        problems.append(f"generation {written} is written, {counted} follows from its parents")
    return YeastLink(
        tie.batch,
        tie.yeast,
        written,
        counted,
        tie.parent,
        tie.lot,
        tie.brewed,
        age,
        living,
        tie.harvest,
        tuple(problems),
    )


def _from_parent(
    tie: BatchLinks, ties: Mapping[str, BatchLinks], problems: list[str]
) -> tuple[int | None, Viability | None]:
    """Return age in days and viability of harvested yeast; adds what is missing."""
    parent = tie.parent
    before = ties.get(parent)
    if before is None:
        problems.append(f"its yeast came from {parent}, which cannot be read")
        return None, None
    if before.yeast != tie.yeast:
        problems.append(f"its yeast is {tie.yeast}, but {parent} fermented with {before.yeast}")
    harvest = before.harvest
    if harvest is None:
        if tie.brewed is not None:
            problems.append(f"its yeast came from {parent}, which has no harvest written")
        return None, None
    if tie.brewed is None:
        return None, None
    age = (tie.brewed - harvest.at.date()).days
    if age < 0:
        problems.append(
            f"pitched on {tie.brewed}, {-age} days before {parent} was harvested ({harvest.when})"
        )
        return age, None
    return age, _living(harvest, age)


def _circles(ties: Mapping[str, BatchLinks]) -> tuple[tuple[str, ...], ...]:
    """Return each circle of descent once, from its first id round to it again."""
    parent = {batch: tie.parent for batch, tie in ties.items() if tie.parent}
    circles: dict[frozenset[str], tuple[str, ...]] = {}
    done: set[str] = set()
    for start in sorted(parent):
        path: list[str] = []
        here = start
        while here in parent and here not in done and here not in path:
            path.append(here)
            here = parent[here]
        if here in path:
            ring = path[path.index(here):]
            first = ring.index(min(ring))
            ring = ring[first:] + ring[:first]
            circles.setdefault(frozenset(ring), (*ring, ring[0]))
        done.update(path)
    return tuple(circles.values())


def _grouped(pairs: Iterable[tuple[Key, str]]) -> dict[Key, tuple[str, ...]]:
    groups: dict[Key, list[str]] = {}
    for key, value in pairs:
        groups.setdefault(key, []).append(value)
    return {key: tuple(sorted(values)) for key, values in sorted(groups.items())}


def links_of(register: Register) -> Links:
    """Return all ties between the batches of an archive."""
    ties, stock = register.ties, register.stock
    lots = _lots(ties.values(), stock) if stock is not None else {}
    yeast = {batch: _link(tie, ties, stock) for batch, tie in ties.items()}
    return Links(
        lots,
        yeast,
        _grouped((link.parent, batch) for batch, link in yeast.items() if link.parent),
        _grouped((tie.like, batch) for batch, tie in ties.items() if tie.like),
        _grouped((tie.kit, batch) for batch, tie in ties.items()),
        _circles(ties),
        tuple(sorted(set(register.files) - set(ties))),
        _by_batch(lots),
    )


def _by_batch(lots: Mapping[LotName, LotStory]) -> dict[str, tuple[LotName, ...]]:
    by_batch: dict[str, list[LotName]] = {}
    for name, story in lots.items():
        for use in story.uses:
            by_batch.setdefault(use.batch, []).append(name)
    return {batch: tuple(names) for batch, names in by_batch.items()}
