"""``trace``: a lot, a yeast, an item of the stock, an instrument or a batch, forward and back."""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from msgspec import to_builtins

from reportgen.archive.links import Links, LotStory, YeastLink, links_of
from reportgen.archive.lock import output_lock
from reportgen.archive.read_with import ReadWith, read_with
from reportgen.archive.register import Register, read_register
from reportgen.archive.revisions import NoRevision, Revision, names_of, revisions_of
from reportgen.archive.ties import LotInBatch, LotName
from reportgen.archive.trace import BatchTrace, ItemTrace, LotTrace, Trace, Unknown, trace
from reportgen.archive.write import write_atomic
from reportgen.record.finding import in_error, visible
from reportgen.record.listing import OUTPUT, record_names
from reportgen.record.printed import generation_words
from reportgen.report.ledger import plural
from reportgen.report.printed_list import list_pdf, view_of
from reportgen.report.recall_list import PRIVATE, recall_table, went_lines
from reportgen.report.text_table import wrapped
from reportgen.store.takings import BatchTakings
from reportgen.store.words import amount_in
from reportgen.verbs.produce import paper_of
from reportgen.verbs.progress import progress
from reportgen.verbs.where import Misuse, Unread, root_named, say_in_part, say_unread, shown

SPILT = 0.05
"""Share of the beer packaged that need not be in a container: read volumes differ by so much."""


def run(arguments: argparse.Namespace) -> int:
    """Print the trace of a name; 1 when a link is missing or goes round in a circle."""
    root = root_named(arguments)
    register = read_register(root, progress=progress("looked at"))
    if register.stock is None:
        raise Unread(register)
    if register.brewery is not None and arguments.name in register.brewery.instruments:
        return _instrument(register, arguments)
    links = links_of(register)
    if arguments.recall and arguments.format == "json":
        raise Misuse("--recall writes a PDF; the JSON has the containers as well")
    try:
        traces = trace(register, links, arguments.name)
    except Unknown as error:
        # What gives no batch, for faults in it, is there all the same.
        if file := next((n for n in record_names(root) if Path(n).stem == arguments.name), ""):
            say_unread(register, file)
            return 1
        raise Misuse(str(error)) from error
    if arguments.recall:
        print(shown(_recall(register, links, arguments.name, traces, arguments.paper)))
        in_part = say_in_part(register.findings)
        return 1 if in_part or any(traced.problems for traced in traces) else 0
    if arguments.format == "json":
        data = [
            {
                **as_data(traced, links), **_history_data(register, traced),
                "containers": _sent_data(reached_by(register, links, [traced])),
            }
            for traced in traces
        ]
        print(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        told = (
            "\n".join(visible(line) for line in lines(register, links, traced)) for traced in traces
        )
        print("\n\n".join(told))
    in_part = say_in_part(register.findings)
    return 1 if in_part or any(traced.problems for traced in traces) else 0


def _instrument(register: Register, arguments: argparse.Namespace) -> int:
    """Print what an instrument read; 1 when some of it is in doubt."""
    if arguments.recall:
        raise Misuse("--recall is for a lot, an item or a batch, not for an instrument")
    batches = read_with(register.root, arguments.name)
    if arguments.format == "json":
        data = {"instrument": arguments.name, "batches": [to_builtins(b) for b in batches]}
        print(json.dumps([data], ensure_ascii=False, indent=1))
    else:
        told = instrument_lines(register, arguments.name, batches)
        print("\n".join(visible(line) for line in told))
    in_part = say_in_part(register.findings)
    return 1 if in_part or any(batch.doubted for batch in batches) else 0


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


def reached_by(register: Register, links: Links, traces: Iterable[Trace]) -> list[BatchTakings]:
    """Return the batches that some traces reach and whose containers are written down."""
    names: dict[str, None] = {}
    for entry in traces:
        names |= dict.fromkeys(_batches_of(links, entry))
    taken = (register.ties[n].store for n in sorted(names) if n in register.ties)
    return [entry for entry in taken if entry is not None and entry.sent]


def _batches_of(links: Links, traced: Trace) -> Iterator[str]:
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


def _recall(
    register: Register, links: Links, name: str, traces: Iterable[Trace], paper: str | None
) -> Path:
    """Write the recall list of a lot, an item or a batch and return its path."""
    brewery = register.brewery
    if brewery is None:
        raise Unread(register)
    batches = reached_by(register, links, traces)
    system = brewery.system
    containers = sum(len(batch.sent) for batch in batches)
    out = sum(not s.back_on and not s.is_empty for batch in batches for s in batch.sent)
    reached = dict.fromkeys(batch for entry in traces for batch in _batches_of(links, entry))
    taken = [ties.store for name in sorted(reached) if (ties := register.ties.get(name))]
    packed = {entry.batch: entry for entry in taken if entry is not None and entry.is_packed}
    lost = [
        f"{name} ({amount_in(entry.unwritten, 'volume', system)})" for name, entry in packed.items()
        if entry.unwritten > SPILT * entry.litres
    ]
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
    day = register.store.last_day
    view = view_of(
        brewery, f"Recall {name}", lead, (recall_table(batches, system),), PRIVATE,
        f"As of {day}." if day else "",
    )  # fmt: skip
    # A lot that a record names may have anything in it, also what leads out of the folder. Written
    # so, `M/1` is another file than `M-1`.
    file = re.sub(r"^\.|[^\w.-]", lambda sign: "".join(f"%{b:02X}" for b in sign[0].encode()), name)
    path = register.root / OUTPUT / "recall" / f"{file}.pdf"
    with output_lock(register.root / OUTPUT):
        write_atomic(path, list_pdf(view, paper_of(brewery, paper), register.root, day))
    return path


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
    if sent:
        system = register.brewery.system if register.brewery else "metric"
        yield ""
        yield "Containers, and where they went (names are personal data)"
        for line in went_lines(sent, system):
            yield from wrapped(line)
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
        parts.append("lot not written" if count == 0 else "new, lot not written")
    words = ", ".join(parts)
    if link.living is not None:
        low, high = link.living.low * 100, link.living.high * 100
        words += f"; {low:.0f}–{high:.0f} % viability, by published losses"
    return words


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


MOST_REVISIONS = 20
"""Revisions of a record that are listed: the latest."""


def revisions_of_batch(register: Register, batch: str) -> list[Revision]:
    """Return the latest revisions in which git has the record changed; none without git."""
    try:
        names = names_of(register.root, register.files[batch])
        return revisions_of(register.root, names, MOST_REVISIONS)
    except NoRevision:
        return []


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


def _history_data(register: Register, traced: Trace) -> dict[str, Any]:
    """Return what git knows of a batch's record, for JSON; nothing for other traces."""
    if not isinstance(traced, BatchTrace):
        return {}
    return {
        "revisions": [
            {"commit": r.commit, "day": r.day, "subject": r.subject}
            for r in revisions_of_batch(register, traced.batch)
        ]
    }


def _sent_data(batches: list[BatchTakings]) -> list[dict[str, Any]]:
    return [
        {
            "batch": batch.batch, "number": sent.number, "of": sent.of, "litres": sent.litres,
            "on_gas_since": sent.on_gas_since or None, "went_to": sent.went_to or None,
            "went_on": sent.went_on or None, "back_on": sent.back_on or None,
            "empty": sent.is_empty,
        }
        for batch in batches for sent in batch.sent
    ]  # fmt: skip


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


def as_data(traced: Trace, links: Links) -> dict[str, Any]:
    """Return a trace as plain data for JSON."""
    if isinstance(traced, BatchTrace):
        return {
            "batch": traced.batch,
            "yeast_line": [_yeast_data(link) for link in traced.line],
            "lots": [
                {**_lot_data(story), "uses": [_use_data(u) for u in story.uses
                                              if u.batch == traced.batch]}
                for _, story in traced.lots
            ],
            "yeast_to": list(traced.children),
            "descendants": list(traced.descendants),
            "plan_from": traced.like or None,
            "plans": list(traced.plans),
            "in_common": [
                {"what": s.what, "name": s.name, "batches": list(s.batches)} for s in traced.shared
            ],
            "problems": list(traced.problems),
        }
    if isinstance(traced, LotTrace):
        return {
            **_lot_data(traced.story),
            "uses": [_use_data(use) for use in traced.story.uses],
            "carried_on_with_yeast": list(traced.carried_on),
            "problems": list(traced.problems),
        }
    return {
        "item": traced.item,
        "kind": traced.kind,
        "lots": [
            {**_lot_data(s), "uses": [_use_data(u) for u in s.uses]} for s in traced.lots
        ],
        "batches": list(traced.batches),
        "yeast": [_yeast_data(links.yeast[b]) for b in traced.batches if traced.kind == "yeasts"],
        "problems": list(traced.problems),
    }


def _lot_data(story: LotStory) -> dict[str, Any]:
    name: LotName = story.name
    known = story.known
    return {
        "lot": name.lot,
        "item": name.item,
        "kind": name.kind or None,
        "received": str(known.received) if known and known.received else None,
        "best_before": str(known.best_before) if known and known.best_before else None,
        "supplier": str(known.supplier) if known and known.supplier else None,
    }


def _use_data(use: LotInBatch) -> dict[str, Any]:
    return {
        "batch": use.batch,
        "brewed": use.brewed.isoformat() if use.brewed else None,
        "planned": list(use.planned),
        "weighed": list(use.weighed),
        "used_instead": list(use.instead),
        "left_out": list(use.left_out),
        "used": use.was_used,
    }


def _yeast_data(link: YeastLink) -> dict[str, Any]:
    living = link.living
    return {
        "batch": link.batch,
        "yeast": link.yeast,
        "generation": link.generation,
        "generation_counted": link.counted,
        "harvested_from": link.parent or None,
        "lot": link.lot or None,
        "pitched": link.pitched.isoformat() if link.pitched else None,
        "age_days": link.age,
        "living": None if living is None else {
            "expected": round(living.expected, 3),
            "low": round(living.low, 3),
            "high": round(living.high, 3),
        },
        "harvested": link.harvest.when if link.harvest else None,
        "problems": list(link.problems),
    }
