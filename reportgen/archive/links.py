"""What ties batches together: lots and where they went, yeast from batch to batch, plans, kits.

Everything here is read from the records and the stock as they are written; nothing is assessed.
What does not hang together (a parent that is not there, a circle, a lot that the stock does not
know) is told in words and never raised.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from reportgen.record.load import Archive
from reportgen.record.model.batch import Record
from reportgen.record.model.later import Harvest
from reportgen.record.model.stock import Lot, Stock
from reportgen.record.units import Quantity
from reportgen.record.values import Reading, State
from reportgen.science.yeast import Viability, viability

KINDS = ("malts", "sugars", "hops", "yeasts", "salts", "acids", "finings")
"""Tables of the stock that have lots, in the order they are shown."""

USUAL_STORE = 4.0
"""Temperature that harvested yeast is taken to be kept at when none is written, degC."""

FRESH = 0.95
"""Living share of a harvest that was not counted."""


@dataclass(frozen=True, order=True)
class LotName:
    """A lot: of which table of the stock, of which item, its number."""

    kind: str
    item: str
    lot: str


@dataclass(frozen=True)
class Use:
    """A lot in one batch: amounts as planned and as weighed, as the brewer wrote them.

    ``instead`` names the lots weighed of the same item when this one was planned and not used.
    """

    batch: str
    brewed: datetime.date | None
    planned: tuple[str, ...] = ()
    weighed: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()

    @property
    def was_used(self) -> bool:
        """Whether it went into the beer, as far as the record says."""
        return bool(self.weighed) or (self.brewed is not None and not self.instead)


@dataclass(frozen=True)
class LotStory:
    """A lot and every batch that names it. ``known`` is None when the stock does not have it."""

    name: LotName
    known: Lot | None
    uses: tuple[Use, ...]


@dataclass(frozen=True)
class YeastLink:
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
    harvest: Harvest | None
    problems: tuple[str, ...] = ()


@dataclass(frozen=True)
class Links:
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
        found: list[str] = []
        link = self.yeast.get(batch)
        while link is not None and link.parent and link.parent not in (batch, *found):
            found.append(link.parent)
            link = self.yeast.get(link.parent)
        return tuple(found)

    def descendants(self, batch: str) -> tuple[str, ...]:
        """Return every batch that the yeast went on to, in order of id."""
        found: set[str] = set()
        pending = list(self.children.get(batch, ()))
        while pending:
            child = pending.pop()
            if child not in found and child != batch:
                found.add(child)
                pending += self.children.get(child, ())
        return tuple(sorted(found))

    def yeast_problems(self) -> tuple[str, ...]:
        """Return what is wrong in the descent of the yeasts, each in one sentence."""
        found = [f"{link.batch}: {p}" for link in self.yeast.values() for p in link.problems]
        found += ["the yeast goes round in a circle: " + " from ".join(c) for c in self.circles]
        return tuple(found)

    def problems(self) -> tuple[str, ...]:
        """Return everything that does not hang together, each in one sentence."""
        found = list(self.yeast_problems())
        found += [
            f"{', '.join(use.batch for use in story.uses)}: lot {name.lot} of {name.item} is not "
            "in stock.yaml"
            for name, story in self.lots.items()
            if story.known is None
        ]
        found += [f"{batch}: cannot be read, so its links are not known" for batch in
                  self.unreadable]
        return tuple(found)


def kind_of_item(stock: Stock, item: str) -> str:
    """Return the table of the stock that an item stands in; empty when in none."""
    return next((kind for kind in KINDS if item in getattr(stock, kind)), "")


def lots_of_item(stock: Stock, kind: str, item: str) -> Mapping[str, Lot]:
    """Return the lots that the stock knows of an item."""
    found = getattr(stock, kind).get(item) if kind else None
    return found.lots if found is not None else {}


def _amount(value: Reading | Quantity | None) -> str:
    if value is None:
        return ""
    if isinstance(value, Quantity):
        return value.text
    if value.state is State.READ and value.value is not None:
        return value.value.text
    return value.state.value


def planned_lots(record: Record) -> Iterator[tuple[str, str, str]]:
    """Yield (item, lot, amount) for each lot that the plan names."""
    plan = record.plan
    rows: list[tuple[object, object, Quantity | None]] = [
        *((g.malt, g.lot, g.amount) for g in plan.grist),
        *((s.sugar, s.lot, s.amount) for s in plan.sugars),
        *((h.hop, h.lot, h.amount) for h in plan.all_hops),
        (plan.pitch.yeast, plan.pitch.lot, plan.pitch.amount),
    ]
    for item, lot, amount in rows:
        if lot is not None:
            yield str(item), str(lot), _amount(amount)


def weighed_lots(record: Record) -> Iterator[tuple[str, str, str]]:
    """Yield (item, lot, amount) for everything weighed out; the lot is empty when not written."""
    day = record.brew_day
    if day is None:
        return
    for entry in day.weighed:
        if entry.amount.state is not State.NOT_DONE:
            yield str(entry.item), str(entry.lot or ""), _amount(entry.amount)
    if day.pitch is not None and day.pitch.lot is not None:
        yield str(record.plan.pitch.yeast), str(day.pitch.lot), _amount(day.pitch.yeast_amount)


def _uses_in(record: Record, stock: Stock) -> Iterator[tuple[LotName, Use]]:
    day = record.brew_day
    brewed = day.date.date if day is not None else None
    planned: dict[tuple[str, str], list[str]] = {}
    weighed: dict[tuple[str, str], list[str]] = {}
    for item, lot, amount in planned_lots(record):
        planned.setdefault((item, lot), []).append(amount)
    for item, lot, amount in weighed_lots(record):
        weighed.setdefault((item, lot), []).append(amount)
    for item, lot in sorted({*planned, *weighed}):
        if not lot:
            continue
        key = (item, lot)
        others: tuple[str, ...] = ()
        if key not in weighed:
            others = tuple(sorted(other for name, other in weighed if name == item and other))
        yield (
            LotName(kind_of_item(stock, item), item, lot),
            Use(
                str(record.batch),
                brewed,
                tuple(a for a in planned.get(key, ()) if a),
                tuple(weighed.get(key, ())),
                others,
            ),
        )


def _lots(records: Mapping[str, Record], stock: Stock) -> dict[LotName, LotStory]:
    uses: dict[LotName, list[Use]] = {}
    for kind in KINDS:
        for item, entry in getattr(stock, kind).items():
            for lot in entry.lots:
                uses[LotName(kind, str(item), str(lot))] = []
    for record in records.values():
        for name, use in _uses_in(record, stock):
            uses.setdefault(name, []).append(use)
    order = {kind: number for number, kind in enumerate((*KINDS, ""))}
    return {
        name: LotStory(
            name, lots_of_item(stock, name.kind, name.item).get(name.lot), tuple(uses[name])
        )
        for name in sorted(uses, key=lambda n: (order[n.kind], n.item, n.lot))
    }


def _count(quantity: Quantity | None) -> int | None:
    return None if quantity is None else round(quantity.value)


def _counted(batch: str, records: Mapping[str, Record]) -> int | None:
    """Return the generation that follows from the parents; None in a circle or a broken line."""
    steps = 0
    seen = {batch}
    record = records.get(batch)
    while record is not None:
        parent = record.plan.pitch.harvested_from
        if parent is None:
            return (_count(record.plan.pitch.generation) or 0) + steps
        if parent in seen:
            return None
        seen.add(str(parent))
        steps += 1
        record = records.get(str(parent))
    return None


def _living(harvest: Harvest, age: int) -> Viability | None:
    stored = harvest.stored_at.value if harvest.stored_at is not None else USUAL_STORE
    fresh = harvest.viability.value if harvest.viability is not None else FRESH
    try:
        found: Viability = viability(float(age), stored, "slurry", fresh)
    except ValueError:
        return None
    return found


def _link(record: Record, records: Mapping[str, Record], archive: Archive) -> YeastLink:
    pitch, day = record.plan.pitch, record.brew_day
    fermentation = record.fermentation
    pitched = day.date.date if day is not None else None
    written = _count(pitch.generation)
    counted = _counted(str(record.batch), records)
    on_the_day = day.pitch.lot if day is not None and day.pitch is not None else None
    lot = str(on_the_day or pitch.lot or "")
    problems: list[str] = []
    age: int | None = None
    living: Viability | None = None
    parent = str(pitch.harvested_from or "")
    if parent:
        age, living = _from_parent(record, parent, records, problems)
    elif written:
        problems.append(f"generation {written}, but the batch it was harvested from is not written")
    elif lot and pitched is not None and archive.stock is not None:
        known = lots_of_item(archive.stock, "yeasts", str(pitch.yeast)).get(lot)
        if known is not None and known.received is not None:
            age = (pitched - known.received.date).days
    if parent and written is not None and counted is not None and written != counted:
        problems.append(f"generation {written} is written, {counted} follows from its parents")
    return YeastLink(
        str(record.batch),
        str(pitch.yeast),
        written,
        counted,
        parent,
        lot,
        pitched,
        age,
        living,
        fermentation.harvest if fermentation is not None else None,
        tuple(problems),
    )


def _from_parent(
    record: Record, parent: str, records: Mapping[str, Record], problems: list[str]
) -> tuple[int | None, Viability | None]:
    """Return age in days and living share of harvested yeast; adds what is missing."""
    before = records.get(parent)
    if before is None:
        problems.append(f"its yeast came from {parent}, which cannot be read")
        return None, None
    if str(before.plan.pitch.yeast) != str(record.plan.pitch.yeast):
        problems.append(
            f"its yeast is {record.plan.pitch.yeast}, but {parent} fermented with "
            f"{before.plan.pitch.yeast}"
        )
    harvest = before.fermentation.harvest if before.fermentation is not None else None
    day = record.brew_day
    if harvest is None:
        if day is not None:
            problems.append(f"its yeast came from {parent}, which has no harvest written")
        return None, None
    if day is None:
        return None, None
    age = (day.date.date - harvest.at.at.date()).days
    if age < 0:
        problems.append(
            f"pitched on {day.date}, {-age} days before {parent} was harvested ({harvest.at})"
        )
        return age, None
    return age, _living(harvest, age)


def _circles(records: Mapping[str, Record]) -> tuple[tuple[str, ...], ...]:
    """Return each circle of descent once, from its first id round to it again."""
    parent = {
        batch: str(record.plan.pitch.harvested_from)
        for batch, record in records.items()
        if record.plan.pitch.harvested_from is not None
    }
    found: dict[frozenset[str], tuple[str, ...]] = {}
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
            found.setdefault(frozenset(ring), (*ring, ring[0]))
        done.update(path)
    return tuple(found.values())


def _grouped(pairs: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for key, value in pairs:
        found.setdefault(key, []).append(value)
    return {key: tuple(sorted(values)) for key, values in sorted(found.items())}


def links_of(archive: Archive) -> Links:
    """Return all ties between the batches of an archive."""
    records = {id_: b.record for id_, b in archive.batches.items() if b.record is not None}
    unreadable = tuple(sorted(set(archive.batches) - set(records)))
    lots = _lots(records, archive.stock) if archive.stock is not None else {}
    yeast = {batch: _link(record, records, archive) for batch, record in records.items()}
    return Links(
        lots,
        yeast,
        _grouped((link.parent, batch) for batch, link in yeast.items() if link.parent),
        _grouped(
            (str(r.plan.like), batch) for batch, r in records.items() if r.plan.like is not None
        ),
        _grouped((str(r.plan.kit), batch) for batch, r in records.items()),
        _circles(records),
        unreadable,
        _by_batch(lots),
    )


def _by_batch(lots: Mapping[LotName, LotStory]) -> dict[str, tuple[LotName, ...]]:
    found: dict[str, list[LotName]] = {}
    for name, story in lots.items():
        for use in story.uses:
            found.setdefault(use.batch, []).append(name)
    return {batch: tuple(names) for batch, names in found.items()}
