"""What the trace of a lot, an item or a batch leads to: batches, containers, revisions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from reportgen.archive.links import Links
from reportgen.archive.register import Register
from reportgen.archive.revisions import NoRevision, Revision, names_of, revisions_of
from reportgen.archive.trace import BatchTrace, LotTrace, Trace
from reportgen.store.takings import BatchTakings


def reached_by(register: Register, links: Links, traces: Iterable[Trace]) -> list[BatchTakings]:
    """Return the batches that some traces reach and whose containers are written down."""
    names: dict[str, None] = {}
    for entry in traces:
        names |= dict.fromkeys(batches_of(links, entry))
    taken = (register.ties[n].store for n in sorted(names) if n in register.ties)
    return [entry for entry in taken if entry is not None and entry.sent]


def batches_of(links: Links, traced: Trace) -> Iterator[str]:
    """Yield the batches whose beer has in it what was traced."""
    if isinstance(traced, BatchTrace):
        yield traced.batch
        return
    stories = [traced.story] if isinstance(traced, LotTrace) else traced.lots
    for story in stories:
        used = [use.batch for use in story.uses if use.was_used]
        yield from used
        if story.name.kind == "yeasts":
            # What a yeast brought goes on with every harvest from it.
            for batch in used:
                yield from links.descendants(batch)


MOST_REVISIONS = 20
"""Revisions of a record that are listed: the latest."""


def revisions_of_batch(register: Register, batch: str) -> list[Revision]:
    """Return the latest revisions in which git has the record changed; none without git."""
    try:
        names = names_of(register.root, register.files[batch])
        return revisions_of(register.root, names, MOST_REVISIONS)
    except NoRevision:
        return []
