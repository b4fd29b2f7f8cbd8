"""Figures of the brewery that change on a day: ``since``, a list of partial entries.

A kit, a liquor, an instrument, a yeast, the tolerances … each may have one::

    kits:
      dyeworks:
        conversion: 95 %
        since:
          - {from: 2026-07-01, conversion: 93 %, because: history of 12 batches}

What stands beside ``since`` held always; each partial entry is laid over it from its day on.
Nothing after the reading knows of days: it is given the files as they were on one.
"""

from __future__ import annotations

import datetime
from collections.abc import Container, Iterable, Iterator

from msgspec import Struct

from reportgen.record.finding import Finding, Position
from reportgen.record.rules import finding_of
from reportgen.record.source import Source
from reportgen.record.units import UnitError, parse_date
from reportgen.record.yamlnode import below, items_below, laid_over
from reportgen.record.yamltree import Mapping, Node, Scalar, Sequence

SINCE, FROM, BECAUSE = "since", "from", "because"


def on(tree: Node, day: datetime.date | None) -> Node:
    """Return a file's tree as it was on a day; None is the latest of all."""
    if isinstance(tree, Sequence):
        return Sequence(tuple(on(item, day) for item in tree.items), tree.position)
    if not isinstance(tree, Mapping):
        return tree
    whole = Mapping(
        tuple((k, on(v, day)) for k, v in tree.entries if k.text != SINCE), tree.position
    )
    for begins, part in sorted(_parts(tree), key=lambda pair: pair[0]):
        if day is None or begins <= day:
            whole = laid_over(whole, part, stays=True)
    return whole


def days(tree: Node) -> list[datetime.date]:
    """Return each day on which something in a file changes, in order, each once."""
    return sorted(set(_days(tree)))


def _days(tree: Node) -> Iterator[datetime.date]:
    if isinstance(tree, Mapping):
        for begins, _ in _parts(tree):
            yield begins
        for key, value in tree.entries:
            if key.text != SINCE:
                yield from _days(value)


def _parts(tree: Mapping) -> Iterator[tuple[datetime.date, Mapping]]:
    """Yield the partial entries of a mapping that have a day, each without day and reason."""
    for item in items_below(tree, SINCE):
        if not isinstance(item, Mapping):
            continue
        begins = day_of(item.get(FROM))
        if begins is not None:
            kept = tuple((k, v) for k, v in item.entries if k.text not in (FROM, BECAUSE))
            yield begins, Mapping(kept, item.position)


class Held(Struct, frozen=True):
    """A change that holds on a day: where it stands, the keys of what changed, since when, why."""

    place: tuple[str, ...]
    keys: tuple[str, ...]
    begins: datetime.date
    because: str


def held(tree: Node, day: datetime.date | None) -> Iterator[Held]:
    """Yield each change with its reason that holds on a day; None is the latest of all.

    One whose every value a later change replaced has gone.
    """
    yield from _held(tree, day, ())


def _held(tree: Node, day: datetime.date | None, place: tuple[str, ...]) -> Iterator[Held]:
    if not isinstance(tree, Mapping):
        return
    parts = [item for item in items_below(tree, SINCE) if isinstance(item, Mapping)]
    begun = [(begins, part) for part in parts
             if (begins := day_of(part.get(FROM))) is not None and (day is None or begins <= day)]
    last: dict[tuple[str, ...], int] = {}
    for number, (_, part) in enumerate(sorted(begun, key=lambda pair: pair[0])):
        for path in _leaves(part):
            if path[0] not in (FROM, BECAUSE):
                last[path] = number
    for number, (begins, part) in enumerate(sorted(begun, key=lambda pair: pair[0])):
        because = part.get(BECAUSE)
        keys = tuple(".".join(path) for path, by in last.items() if by == number)
        if keys and isinstance(because, Scalar):
            yield Held(place, keys, begins, because.text)
    for key, value in tree.entries:
        if key.text != SINCE:
            yield from _held(value, day, (*place, key.text))


def day_of(node: Node | None) -> datetime.date | None:
    try:
        return parse_date(node.text) if isinstance(node, Scalar) else None
    except UnitError:
        return None


def _leaves(node: Node, left_out: Container[Position] = ()) -> Iterator[tuple[str, ...]]:
    """Yield the path of keys to each value of a mapping, but of keys at some places."""
    if isinstance(node, Mapping):
        for key, value in node.entries:
            if key.position not in left_out:
                below = list(_leaves(value, left_out)) or [()]
                yield from ((key.text, *path) for path in below)


def faults(
    tree: Node, source: Source, wrong: Container[Position] = ()
) -> Iterator[Finding]:
    """Yield what is wrong with the days of a file: a value given twice, days out of order.

    A key at one of the places that are wrong already is not judged again.
    """
    if not isinstance(tree, Mapping):
        return
    last: datetime.date | None = None
    given: set[tuple[str, ...]] = set()
    for item in items_below(tree, SINCE):
        node = below(item, FROM)
        begins = day_of(node)
        if node is None or begins is None:
            continue
        if begins != last:
            given = set()
        names = {path for path in _leaves(item, wrong) if path[0] not in (FROM, BECAUSE)}
        twice = sorted(names & given)
        if twice or (last is not None and begins < last):
            name = ".".join(twice[0]) if twice else ""
            yield finding_of(
                "since-days",
                node.position,
                f"`{name}` has two values from {begins}" if twice else f"{begins} after {last}",
                "one value from each day, the earliest first",
                "delete one of the two" if twice else None,
                source.line(node.position.line),
            )
        elif isinstance(item, Mapping) and {k.text for k, _ in item.entries} <= {FROM, BECAUSE}:
            yield finding_of(
                "since-days", node.position, f"nothing is changed from {begins}",
                "the value that is valid from then on", "write it, or delete the entry",
                source.line(node.position.line),
            )
        given |= names
        last = begins if last is None else max(last, begins)
    for key, value in tree.entries:
        if key.text != SINCE:
            yield from faults(value, source, wrong)


FAR = datetime.timedelta(days=5 * 366)
"""A day further than this after the last batch is a slip of the year; shorter pauses happen."""


def unheld(
    tree: Node, source: Source, batches: Iterable[datetime.date | None]
) -> Iterator[Finding]:
    """Yield what is odd of the days of a file beside those of all batches.

    A value that held for none of them, since another took its place before the first, and a day
    far after the last. ``batches`` are the days by which they go; None, by the latest, has none.
    """
    known = sorted(day for day in batches if day is not None)
    if not known:
        return
    yield from _never_held(tree, source, known)
    for node, day in _all_days(tree):
        if day > known[-1] + FAR:
            yield finding_of(
                "since-far-ahead", node.position,
                f"{day} is more than five years after the last batch, of {known[-1]}",
                line=source.line(node.position.line),
            )


def _never_held(
    tree: Node, source: Source, known: list[datetime.date]
) -> Iterator[Finding]:
    if not isinstance(tree, Mapping):
        return
    holds = {path: (datetime.date.min, node) for path, node in _values(tree)}
    for day, part in sorted(_parts(tree), key=lambda pair: pair[0]):
        for path, node in _values(part):
            start, old = holds.get(path, (day, node))
            holds[path] = day, node
            if start < day and not any(start <= batch < day for batch in known):
                yield finding_of(
                    "since-never-held", old.position,
                    f"`{'.'.join(path)}` was valid for no batch: another value is valid from {day}",
                    line=source.line(old.position.line),
                )
    for key, value in tree.entries:
        if key.text != SINCE:
            yield from _never_held(value, source, known)


def _values(tree: Mapping) -> Iterator[tuple[tuple[str, ...], Node]]:
    """Yield the path and the node of each value of a mapping, but for its changes."""
    for key, value in tree.entries:
        if key.text == SINCE:
            continue
        if isinstance(value, Mapping):
            yield from (((key.text, *path), node) for path, node in _values(value))
        else:
            yield (key.text,), value


FOUND_ON = (FROM, "on", "checked", "analysed", "received")


def _all_days(tree: Node) -> Iterator[tuple[Scalar, datetime.date]]:
    """Yield each day from which something is valid, or on which something was found or came in."""
    if isinstance(tree, Sequence):
        for item in tree.items:
            yield from _all_days(item)
    if not isinstance(tree, Mapping):
        return
    for key, value in tree.entries:
        if key.text in FOUND_ON and isinstance(value, Scalar):
            day = day_of(value)
            if day is not None:
                yield value, day
        else:
            yield from _all_days(value)
