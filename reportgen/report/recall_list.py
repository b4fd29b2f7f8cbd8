"""Where the beer of a lot or a batch went: the list for a recall.

It has who got what, so it is personal data: it is made only when it is asked for, and the pages of
the ledger, which may be published, have no names.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from reportgen.archive.links import Links
from reportgen.archive.reached import batches_of
from reportgen.archive.register import Register
from reportgen.archive.trace import Trace
from reportgen.record.finding import in_error
from reportgen.report.ledger import Cell, Column, Table, plural
from reportgen.store.takings import BatchTakings, Sent
from reportgen.store.words import amount_in

PRIVATE = (
    "Names on this list are personal data: keep it no longer than it is needed, and show it to "
    "nobody who need not act on it."
)
"""Stands on every recall list."""

SPILT = 0.05
"""Share of the beer packaged that need not be in a container: read volumes differ by so much."""


def lead_of(
    register: Register, links: Links, name: str, traces: Sequence[Trace],
    batches: Sequence[BatchTakings],
) -> str:
    """Return what stands above the list: which batches, how many containers, what is not known.

    ``batches`` are those whose containers are listed.
    """
    system = register.brewery.system if register.brewery else "metric"
    containers = sum(len(batch.sent) for batch in batches)
    out = sum(not s.back_on and not s.is_empty for batch in batches for s in batch.sent)
    reached = dict.fromkeys(batch for entry in traces for batch in batches_of(links, entry))
    packed = packed_of(register, reached)
    lost = [nobody_wrote_down(entry, system) for entry in packed.values() if is_unlisted(entry)]
    silent = [name for name in sorted(reached) if name in register.ties and name not in packed]
    lead = f"{name} is in {', '.join(sorted(reached)) or 'no batch'}. "
    lead += f"{plural(containers, 'container')}, {out} of them neither back nor empty."
    if lost:
        lead += f" Packaged, in containers that nobody wrote down: {', '.join(lost)}."
    if silent:
        lead += f" Not packaged, as far as is written: {', '.join(silent)}."
    for problem in dict.fromkeys(problem for entry in traces for problem in entry.problems):
        lead += f" {problem[:1].upper()}{problem[1:]}."
    if wrong := in_error(register.findings):
        lead += f" Not read in full, so what it has may be missing: {', '.join(wrong)}."
    return lead


def packed_of(register: Register, reached: Iterable[str]) -> dict[str, BatchTakings]:
    """Return those of some batches that are packaged, by their ids."""
    taken = [ties.store for name in sorted(reached) if (ties := register.ties.get(name))]
    return {entry.batch: entry for entry in taken if entry is not None and entry.is_packed}


def is_unlisted(entry: BatchTakings) -> bool:
    """Whether a batch has beer in containers that are not written down."""
    return entry.unwritten > SPILT * entry.litres


def nobody_wrote_down(entry: BatchTakings, system: str) -> str:
    """Return a batch and how much of it is in containers that are not written down."""
    return f"{entry.batch} ({amount_in(entry.unwritten, 'volume', system)})"


def where_words(sent: Sent) -> str:
    """Return where a container is, in words."""
    if sent.back_on:
        return f"back on {sent.back_on}"
    if sent.went_to or sent.went_on:
        return "not back"
    return "empty" if sent.is_empty else "in the store"


def recall_table(batches: Iterable[BatchTakings], system: str) -> Table:
    """Return every container of some batches, those that are still out first."""
    pairs = [(batch, sent) for batch in batches for sent in batch.sent]
    pairs.sort(key=lambda pair: (bool(pair[1].back_on) or pair[1].is_empty, pair[1].went_to,
                                 pair[0].batch, pair[1].number))  # fmt: skip
    return Table(
        "recall", "Containers, those still out first",
        (Column("Went to"), Column("On", keep=True), Column("Container"), Column("Holds", True),
         Column("Batch"), Column("Beer"), Column("Best before", keep=True), Column("Where it is"),
         Column("Informed by, at")),
        tuple(_row(batch, sent, system) for batch, sent in pairs),
        nothing="No container is written down for these batches.",
    )  # fmt: skip


def _row(batch: BatchTakings, sent: Sent, system: str) -> tuple[Cell, ...]:
    number = sent.number if sent.of == 1 else f"{sent.number} (of {sent.of})"
    litres = amount_in(sent.litres, "volume", system) if sent.litres is not None else ""
    is_out = not sent.back_on and not sent.is_empty
    return (
        Cell(sent.went_to or "not written", strong=is_out and bool(sent.went_to),
             soft=not sent.went_to),
        Cell(sent.went_on), Cell(number), Cell(litres), Cell(batch.batch), Cell(batch.name),
        Cell(batch.best_before), Cell(where_words(sent)), Cell(),
    )  # fmt: skip


def went_lines(batches: Sequence[BatchTakings], system: str) -> Iterable[str]:
    """Yield where the containers of some batches went, for a terminal."""
    for batch in batches:
        for sent in batch.sent:
            number = sent.number if sent.of == 1 else f"{sent.number} (of {sent.of})"
            litres = f", {amount_in(sent.litres, 'volume', system)}" if sent.litres else ""
            to = f"{sent.went_to or 'not written to whom'}"
            day = f" on {sent.went_on}" if sent.went_on else ""
            gas = f", on gas since {sent.on_gas_since}" if sent.on_gas_since else ""
            yield f"  {batch.batch} {number}{litres}{gas}: {to}{day}, {where_words(sent)}"
