"""A trace as lines for a terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from reportgen.archive.links import Links, YeastLink
from reportgen.archive.reached import (
    MOST_REVISIONS,
    batches_of,
    reached_by,
    revisions_of_batch,
)
from reportgen.archive.read_with import ReadWith
from reportgen.archive.register import Register
from reportgen.archive.ties import LotInBatch
from reportgen.archive.trace import BatchTrace, ItemTrace, LotTrace, Trace
from reportgen.record.printed import generation_words
from reportgen.report.recall_list import is_unlisted, nobody_wrote_down, packed_of, went_lines
from reportgen.report.text_table import wrapped


def instrument_lines(
    register: Register, name: str, batches: Iterable[ReadWith]
) -> Iterator[str]:
    """Yield the lines of an instrument: its checks, each batch with what it read, and doubts."""
    instrument = register.brewery.instruments[name] if register.brewery is not None else None
    yield f"{name} ({str(instrument.reads).replace('_', ' ') if instrument else 'instrument'})"
    for check in instrument.checks if instrument is not None else ():
        high, was = check.reads_high_by, check.found_high_by
        words = f"  checked {check.on}"
        words += f", found to read high by {was.text}" if was is not None else ""
        words += f", reads high by {high.text}" if high is not None else ""
        yield from wrapped(words)
    yield ""
    yield "Read"
    for batch in batches:
        yield from wrapped(f"  {titled(register, batch.batch)}: {', '.join(batch.readings)}")
        if batch.doubted:
            yield from wrapped(
                f"      in doubt by the check of {batch.found}: {', '.join(batch.doubted)}",
                "        ",
            )
    if not batches:
        yield "  nothing yet"


def lines(register: Register, links: Links, traced: Trace) -> Iterator[str]:
    """Yield the lines of one trace as text."""
    if isinstance(traced, BatchTrace):
        yield from _batch_lines(register, links, traced)
        yield from _revision_lines(register, traced.batch)
    elif isinstance(traced, LotTrace):
        yield from _lot_lines(register, traced)
    else:
        yield from _item_lines(register, links, traced)
    sent = reached_by(register, links, [traced])
    packed = packed_of(register, dict.fromkeys(batches_of(links, traced))).values()
    lost = [entry for entry in packed if is_unlisted(entry)]
    if sent or lost:
        system = register.brewery.system if register.brewery else "metric"
        yield ""
        yield "Containers, and where they went (names are personal data)"
        for line in went_lines(sent, system):
            yield from wrapped(line)
        for entry in lost:
            yield f"  {nobody_wrote_down(entry, system)}: in containers that nobody wrote down"
    if traced.problems:
        yield ""
        yield "Missing or wrong"
        for problem in traced.problems:
            yield from wrapped(f"  - {problem}", "    ")


def titled(register: Register, batch: str) -> str:
    """Return a batch by id, name and brew day."""
    if batch not in register.files:
        return f"{batch}  (not in the archive)"
    ties = register.ties.get(batch)
    if ties is None:
        return f"{batch}  (cannot be read)"
    when = f"brewed {ties.brewed}" if ties.brewed is not None else "not brewed yet"
    return f"{batch}  {ties.name}, {when}"


def yeast_words(link: YeastLink) -> str:
    """Return what is known of the yeast of a batch, in words."""
    count = link.generation if link.generation is not None else link.counted
    parts = [f"{link.yeast}", "generation not known" if count is None else generation_words(count)]
    if link.parent:
        parts.append(f"harvested from {link.parent}")
        if link.age is not None and link.age >= 0:
            parts.append(f"{link.age} days before")
    elif link.lot:
        parts.append(f"lot {link.lot}" if count == 0 else f"new, lot {link.lot}")
        if link.age is not None:
            parts.append(f"in the brewery for {link.age} days")
    else:
        parts.append(source_not_written(count))
    words = ", ".join(parts)
    if link.living is not None:
        low, high = link.living.low * 100, link.living.high * 100
        words += f"; {low:.0f}–{high:.0f} % viability, by published losses"
    return words


def source_not_written(count: float | None) -> str:
    """Return what is said of a yeast whose lot and batch are not written, by its generation."""
    if count:
        return "from a batch not written"
    return "lot not written" if count == 0 else "new, lot not written"


def harvest_words(link: YeastLink) -> str:
    """Return what was harvested from a batch, in words."""
    harvest = link.harvest
    if harvest is None:
        return "nothing harvested"
    parts = [f"harvested {harvest.when}"]
    if harvest.amount:
        parts.append(harvest.amount)
    if harvest.viability:
        parts.append(f"{harvest.viability} viability")
    if harvest.stored_at:
        parts.append(f"kept at {harvest.stored_at}")
    return ", ".join(parts)


def use_words(use: LotInBatch) -> str:
    """Return how a batch used a lot, in words."""
    planned = " + ".join(use.planned)
    if use.weighed:
        done = " + ".join(use.weighed)
        return done if not planned or planned == done else f"{done}, planned {planned}"
    amount = f" {planned}" if planned else ""
    if use.why_not:
        return f"planned{amount}, {use.why_not}"
    if use.brewed is None:
        return f"planned{amount}"
    return f"planned{amount}, the lot not written down on the day"


def _batch_lines(register: Register, links: Links, traced: BatchTrace) -> Iterator[str]:
    ties = register.ties.get(traced.batch)
    kit = f" on {ties.kit}" if ties is not None else ""
    yield f"Batch {titled(register, traced.batch)}{kit}"
    yield ""
    yield "Back"
    for depth, link in enumerate(traced.line):
        where = "yeast" if depth == 0 else f"  {link.batch}"
        yield from wrapped(f"  {where}: {yeast_words(link)}")
    if traced.like:
        yield f"  plan: starts from {traced.like}"
    kind = ""
    for name, story in traced.lots:
        if name.kind != kind:
            kind = name.kind
            yield f"  {kind or 'not in stock.yaml'}"
        use = next(u for u in story.uses if u.batch == traced.batch)
        yield from wrapped(f"    {name.item} {name.lot}: {use_words(use)}", "        ")
    yield ""
    yield "Forward"
    if traced.line:
        yield f"  yeast: {harvest_words(traced.line[0])}"
    yield from _tree(register, links, traced.batch, "    ")
    for plan in traced.plans:
        yield f"  plan of {titled(register, plan)}"
    yield ""
    yield "In common with others"
    for shared in traced.shared:
        yield from wrapped(f"  {shared.what} {shared.name}: {', '.join(shared.batches)}")
    if not traced.shared:
        yield "  nothing"


def _revision_lines(register: Register, batch: str) -> Iterator[str]:
    """Yield when the record was written and corrected, as git knows it."""
    revisions = revisions_of_batch(register, batch)
    if not revisions:
        return
    yield ""
    yield "Record changed, by git"
    for revision in revisions:
        yield from wrapped(f"  {revision.day}  {revision.short}  {revision.subject}")
    if len(revisions) == MOST_REVISIONS:
        yield f"  and perhaps more before: git log {register.files[batch]}"
    if len(revisions) > 1:
        last, before = revisions[0].short, revisions[1].short
        yield f"  what the last change was: reportgen compare {batch}@{before} {batch}@{last}"


def _tree(register: Register, links: Links, batch: str, indent: str) -> Iterator[str]:
    """Yield the batches that a yeast went on to, each below the one it was harvested from."""
    pending = [(child, indent) for child in links.children.get(batch, ())]
    seen = {batch}
    while pending:
        child, depth = pending.pop(0)
        yield f"{depth}→ {titled(register, child)}"
        if child in seen:
            continue
        seen.add(child)
        pending[:0] = [(c, depth + "  ") for c in links.children.get(child, ())]


def _lot_lines(register: Register, traced: LotTrace) -> Iterator[str]:
    name, known = traced.story.name, traced.story.known
    yield f"Lot {name.lot} of {name.item} ({name.kind or 'not in stock.yaml'})"
    yield ""
    yield "Back"
    if known is None:
        yield "  not known"
    else:
        yield f"  received {known.received or 'on a day not written'}"
        if known.supplier:
            yield f"  from {known.supplier}"
        if known.best_before:
            yield f"  best before {known.best_before}"
        if known.note:
            yield from wrapped(f"  note: {known.note}", "    ")
    yield ""
    yield "Forward"
    for use in traced.story.uses:
        yield from wrapped(f"  {titled(register, use.batch)}: {use_words(use)}")
    if not traced.story.uses:
        yield "  not used yet"
    if traced.carried_on:
        yield from wrapped(
            f"  and, with yeast harvested from these: {', '.join(traced.carried_on)}"
        )


def _item_lines(register: Register, links: Links, traced: ItemTrace) -> Iterator[str]:
    yield f"{traced.item} ({traced.kind})"
    yield ""
    for story in traced.lots:
        known = story.known
        came = f", received {known.received}" if known and known.received else ""
        users = ", ".join(use.batch for use in story.uses) or "not used yet"
        yield from wrapped(f"  lot {story.name.lot}{came}: {users}")
    for origin in traced.origins:
        yield f"  {titled(register, origin)}"
        yield from wrapped(f"      {yeast_words(links.yeast[origin])}")
        yield from _tree(register, links, origin, "      ")
