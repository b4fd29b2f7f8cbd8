"""A lot, a yeast, an item of the stock or a batch, traced back to where it came from and forward.

``trace`` answers two questions: where did this come from and where did it go, and which other
batches have a lot, a yeast or the kit in common with it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence, Set
from itertools import islice

from msgspec import Struct

from reportgen.archive.links import Links, LotStory, YeastLink
from reportgen.archive.register import Register
from reportgen.archive.ties import LotName
from reportgen.record.failure import Refused
from reportgen.record.finding import Severity
from reportgen.record.model.stock import TABLES
from reportgen.record.suggest import did_you_mean


class Unknown(Refused):
    """A name that is neither a batch nor a lot, a yeast or another item of the stock."""


class Shared(Struct, frozen=True):
    """What others have in common with a batch: ``what`` is lot, yeast or kit.

    They are those ``among`` some batches, in order of id, that are not ``without``, ``count`` in
    all. Most batches of a house share such a group, so it is never copied for each.
    """

    what: str
    name: str
    among: tuple[str, ...]
    without: Set[str]
    count: int

    @property
    def batches(self) -> tuple[str, ...]:
        """The others, in order of id."""
        return tuple(batch for batch in self.among if batch not in self.without)

    def nearest(self, to: str, most: int) -> tuple[str, ...]:
        """Return the others whose ids lie nearest to one, in order; ``most`` of them at most."""
        return nearest(self.among, to, most, self.without)


def nearest(
    batches: Sequence[str], to: str, most: int, without: Set[str] = frozenset()
) -> tuple[str, ...]:
    """Return the batches whose ids lie nearest to one, in order; ``most`` of them at most.

    ``batches`` are in order of id; those ``without`` do not count. Half of those returned lie
    before it, or as many as there are.
    """
    def some(places: Iterable[int]) -> list[str]:
        return list(islice((b for b in map(batches.__getitem__, places) if b not in without), most))

    here = bisect_left(batches, to)
    earlier, later = some(range(here - 1, -1, -1)), some(range(here, len(batches)))
    before = min(len(earlier), max(most // 2, most - len(later)))
    return (*reversed(earlier[:before]), *later[: most - before])


class BatchTrace(Struct, frozen=True):
    """One batch: its yeast line back to the origin, its lots, what came of it, what it shares.

    ``line`` begins with the batch itself and goes back; ``descendants`` are all batches that its
    harvested yeast reached; ``plans`` those whose plan starts from its own.
    """

    batch: str
    line: tuple[YeastLink, ...]
    lots: tuple[tuple[LotName, LotStory], ...]
    children: tuple[str, ...]
    descendants: tuple[str, ...]
    plans: tuple[str, ...]
    like: str
    shared: tuple[Shared, ...]
    problems: tuple[str, ...]


class LotTrace(Struct, frozen=True):
    """One lot: every batch that names it, and those that got yeast harvested from these."""

    story: LotStory
    carried_on: tuple[str, ...]
    problems: tuple[str, ...]


class ItemTrace(Struct, frozen=True):
    """An item of the stock: its lots. For a yeast also each line of descent, origin first."""

    kind: str
    item: str
    lots: tuple[LotStory, ...]
    batches: tuple[str, ...]
    origins: tuple[str, ...]
    problems: tuple[str, ...]


Trace = BatchTrace | LotTrace | ItemTrace


def trace(register: Register, links: Links, name: str) -> tuple[Trace, ...]:
    """Return everything that a name stands for, traced. :class:`Unknown` when for nothing.

    One number may be a lot of two items; each is traced.
    """
    traces: list[Trace] = []
    if name in register.files:
        traces.append(trace_batch(register, links, name))
    for kind in TABLES:
        if register.stock is not None and name in getattr(register.stock, kind):
            traces.append(trace_item(links, kind, name))
    traces += [
        trace_lot(register, links, story) for lot, story in links.lots.items() if lot.lot == name
    ]
    if not traces:
        raise Unknown(_unknown(register, links, name))
    return tuple(traces)


def _unknown(register: Register, links: Links, name: str) -> str:
    known = [*register.files, *(lot.lot for lot in links.lots)]
    if register.stock is not None:
        known += [item for kind in TABLES for item in getattr(register.stock, kind)]
    if register.brewery is not None:
        known += register.brewery.instruments
    hint = did_you_mean(name, known)
    return f"no batch, lot, item or instrument `{name}` in this archive{hint and f'; {hint}'}"


def trace_batch(register: Register, links: Links, batch: str) -> BatchTrace:
    """Trace one batch."""
    own = links.yeast.get(batch)
    line = () if own is None else (own, *(links.yeast[b] for b in links.ancestors(batch)
                                          if b in links.yeast))
    ties = register.ties.get(batch)
    names = links.by_batch.get(batch, ())
    problems = [f"{link.batch}: {p}" for link in line for p in link.problems]
    problems += [f"lot {n.lot} of {n.item} is not in stock.yaml" for n in names
                 if links.lots[n].known is None]
    problems += ["the yeast goes round in a circle: " + " from ".join(c) for c in links.circles
                 if {batch, *links.ancestors(batch)} & set(c)]
    if ties is None:
        problems += _unreadable(register, batch)
    else:
        problems += [
            f"{item} was weighed without its lot, so it ends here" for item in ties.without_lot
        ]
    return BatchTrace(
        batch,
        line,
        tuple((n, links.lots[n]) for n in names),
        links.children.get(batch, ()),
        links.descendants(batch),
        links.plans.get(batch, ()),
        ties.like if ties is not None else "",
        shared_with(register, links, batch),
        tuple(problems),
    )


def _unreadable(register: Register, batch: str) -> Iterator[str]:
    """Yield why a record cannot be read, so that its own links are not known."""
    file = register.files[batch]
    yield "the record cannot be read, so its links are not known; run reportgen check"
    for finding in register.findings:
        if finding.position.file == file and finding.severity is Severity.ERROR:
            yield f"line {finding.position.line}: {finding.message}"


def shared_with(register: Register, links: Links, batch: str) -> tuple[Shared, ...]:
    """Return the other batches that share a lot, a yeast line or the kit with this one."""
    shared: list[Shared] = []
    for name in links.by_batch.get(batch, ()):
        users = [use for use in links.lots[name].uses if use.batch != batch and use.was_used]
        mine = [use for use in links.lots[name].uses if use.batch == batch and use.was_used]
        if users and mine:
            others = tuple(use.batch for use in users)
            shared.append(
                Shared("lot", f"{name.lot} of {name.item}", others, frozenset(), len(others))
            )
    own = links.yeast.get(batch)
    if own is not None:
        family = links.family(batch)
        shared.append(
            Shared("yeast line", own.yeast, family.members, {batch}, len(family.members) - 1)
        )
        shared.append(
            Shared("yeast", f"{own.yeast}, another line", links.pitched[own.yeast], family.known,
                   family.outside)
        )
    ties = register.ties.get(batch)
    if ties is not None:
        same = links.kits[ties.kit]
        shared.append(Shared("kit", ties.kit, same, {batch}, len(same) - 1))
    return tuple(other for other in shared if other.count)


def trace_lot(register: Register, links: Links, story: LotStory) -> LotTrace:
    """Trace one lot."""
    used = {use.batch for use in story.uses if use.was_used}
    carried = {d for batch in used for d in links.descendants(batch)} - used
    problems = () if story.known is not None else (
        f"lot {story.name.lot} of {story.name.item} is not in stock.yaml: "
        "delivery and analysis are not known",
    )
    return LotTrace(story, tuple(sorted(carried)), (*problems, *_perhaps(register, links, story)))


def _perhaps(register: Register, links: Links, story: LotStory) -> Iterator[str]:
    """Yield the batches that a lot may be in: they name none of the item, or one that is not there.
    """
    name, known = story.name, story.known
    came = known.received.date if known is not None and known.received is not None else None
    for batch, ties in register.ties.items():
        mine = {lot.lot: use for lot, use in ties.uses if lot.item == name.item and use.was_used}
        if name.lot in mine or ties.brewed is None or (came is not None and ties.brewed < came):
            continue
        strange = [
            lot for lot in mine if links.lots[LotName(name.kind, name.item, lot)].known is None
        ]
        if strange:
            yield (
                f"{batch} has {name.item} of lot {', '.join(strange)}, which is not in stock.yaml: "
                f"it may be {name.lot}"
            )
        elif name.item in ties.without_lot and not mine:
            yield f"{batch} has {name.item} of a lot that is not written: it may be {name.lot}"


def trace_item(links: Links, kind: str, item: str) -> ItemTrace:
    """Trace an item of the stock."""
    lots = tuple(s for n, s in links.lots.items() if n.kind == kind and n.item == item)
    if kind != "yeasts":
        batches = sorted({use.batch for story in lots for use in story.uses})
        return ItemTrace(kind, item, lots, tuple(batches), (), ())
    mine = {b: link for b, link in links.yeast.items() if link.yeast == item}
    problems = tuple(f"{b}: {p}" for b, link in mine.items() for p in link.problems)
    circles = tuple(
        "the yeast goes round in a circle: " + " from ".join(c)
        for c in links.circles
        if set(c) & set(mine)
    )
    origins = tuple(b for b, link in mine.items() if not link.parent or link.parent not in mine)
    rings = tuple(c[0] for c in links.circles if c[0] in mine)
    return ItemTrace(kind, item, lots, tuple(mine), (*origins, *rings), (*problems, *circles))
