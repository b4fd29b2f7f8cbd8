"""The ledger's page of one batch: how it stands, its numbers, its ties, where its papers are."""

from __future__ import annotations

from bisect import bisect_left
from pathlib import PurePosixPath

from msgspec import Struct

from reportgen.archive.summary import Summary
from reportgen.archive.trace import BatchTrace, Shared, trace_batch
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES
from reportgen.history.row import DeviationValue
from reportgen.report.documents import ALL
from reportgen.report.figure_text import figure_difference, figure_number, figure_unit
from reportgen.report.history_words import unusual_sentence
from reportgen.report.ledger import (
    SHAPES,
    Cell,
    Column,
    Frame,
    LedgerData,
    Link,
    Shape,
    Table,
    batch_href,
    change_words,
    finding_table,
    frame_of,
    name_of,
    plural,
    shown_in,
    standing_words,
    yeast_text,
)
from reportgen.report.ledger_links import (
    LOT_COLUMNS,
    MOST_NAMED,
    TraceStep,
    line_of,
    lot_row,
    more_words,
)
from reportgen.report.markdown import to_html
from reportgen.report.parts import Labelled, Note

ROOT = "../"


class LedgerDeviation(Struct, frozen=True):
    """A deviation: its heading, whether it is open, and what is written of it."""

    title: str
    standing: str
    is_open: bool
    facts: tuple[Labelled, ...]


class SharedView(Struct, frozen=True):
    """What other batches have in common with this one; ``more`` says how many are not named."""

    what: str
    batches: tuple[Link, ...]
    more: str


class BatchPage(Struct, frozen=True):
    """One batch."""

    frame: Frame
    batch: str
    name: str
    lead: str
    facts: tuple[Labelled, ...]
    papers: tuple[Link, ...]
    figures: Table
    matters: Table | None
    unusual: tuple[str, ...]
    deviations: tuple[LedgerDeviation, ...]
    line: TraceStep | None
    lots: Table
    shared: tuple[SharedView, ...]
    plans: tuple[Link, ...]
    missing: tuple[str, ...]
    notes: tuple[Note, ...]
    findings: Table
    before: Link | None
    after: Link | None


def batch_page(data: LedgerData, batch: str) -> BatchPage:
    """Return the page of one batch. KeyError when it has no summary."""
    summary = data.summaries[batch]
    batch_trace = trace_batch(data.register, data.links, batch)
    order, here = data.order, bisect_left(data.order, batch)
    file_findings = data.findings_by_file.get(summary.file, ())
    origin = batch_trace.line[-1].batch if batch_trace.line else batch
    return BatchPage(
        frame=frame_of(data, f"{batch} {summary.name}", "", ROOT),
        batch=batch,
        name=summary.name,
        lead=_lead(data, summary),
        facts=tuple(_facts(data, summary)),
        papers=_papers(data, summary),
        figures=_figures(data, summary),
        matters=_matters(data, summary),
        unusual=tuple(unusual_words(data, summary)),
        deviations=tuple(_deviation(data, d) for d in summary.deviations),
        line=line_of(data, origin, ROOT) if origin in data.links.yeast else None,
        lots=Table(
            "lots", "Lots and where else they went", LOT_COLUMNS,
            tuple(lot_row(data, story, ROOT, around=batch) for _, story in batch_trace.lots),
            nothing="No lot is written down.",
        ),
        shared=_shared(data, batch_trace),
        plans=tuple(
            [Link(batch_href(batch_trace.like, ROOT), batch_trace.like, "this plan starts from it")]
            if batch_trace.like in data.rows else []
        ) + tuple(Link(batch_href(b, ROOT), b, "starts from this plan") for b in batch_trace.plans),
        missing=batch_trace.problems,
        notes=tuple(_notes(summary)),
        findings=finding_table(data, file_findings, ROOT),
        before=Link(batch_href(order[here - 1], ROOT), order[here - 1]) if here else None,
        after=Link(batch_href(order[here + 1], ROOT), order[here + 1])
        if here + 1 < len(order) else None,
    )  # fmt: skip


def _lead(data: LedgerData, summary: Summary) -> str:
    words = standing_words(data, summary)
    sentence = words[:1].upper() + words[1:] + "."
    if summary.state == "planned":
        return sentence
    every = sum(n for _, n in summary.counts)
    off = summary.count(Verdict.OFF_PLAN.value)
    on = summary.count(Verdict.ON_PLAN.value)
    return f"{sentence} {on} of {plural(every, 'figure')} on plan, {off} off plan."


def _facts(data: LedgerData, summary: Summary) -> list[Labelled]:
    facts = [
        Labelled("Brewed", summary.brewed or "not yet"),
        Labelled("Packed", summary.packed or "not yet"),
        Labelled("Kit", summary.kit.replace("_", " ")),
        Labelled("Liquor", summary.liquor.replace("_", " ")),
        Labelled("Yeast, generation", yeast_text(data, summary)),
        Labelled("Plan", f"revision {summary.revision}, {summary.plan_hash}"),
    ]
    if summary.beer:
        facts.insert(0, Labelled("Beer", summary.beer))
    into = ((summary.into, summary.containers), *summary.also_into)
    if any(count for _, count in into):
        told = (plural(count, kind) if count else kind for kind, count in into)
        facts.append(Labelled("Into", ", ".join(told)))
    if summary.best_before:
        facts.append(Labelled("Best before", summary.best_before))
    if summary.label:
        facts.append(Labelled("Label", summary.label))
    return facts


def _papers(data: LedgerData, summary: Summary) -> tuple[Link, ...]:
    """Return the papers of the batch and the record itself, by their place below the archive.

    Of a record that cannot be read in full no paper is made.
    """
    up = "../../"
    made = () if data.is_faulty(summary) else ALL
    links = []
    for document in made:
        if not document.is_made(bool(summary.brewed)):
            continue
        title, file = document.title, document.file(summary.id)
        page = str(PurePosixPath(file).with_suffix(".html"))
        links += [Link(f"{up}{file}", title, "PDF, to print"), Link(f"{up}{page}", "on a screen")]
    links.append(Link(f"{up}../{summary.file}", "The record itself", summary.file))
    return tuple(links)


def _figures(data: LedgerData, summary: Summary) -> Table:
    """Return the headline figures, and every other whose reading is not on plan."""
    rows = []
    for key, value in summary.figures:
        figure = FIGURES[key]
        shown = figure.headline or value.verdict in (
            Verdict.OFF_PLAN.value, Verdict.TOO_CLOSE.value
        )
        if not shown:
            continue
        units = data.units
        actual, expected = value.as_brewed, value.expected
        shape = SHAPES.get(value.verdict)
        rows.append(
            (
                Cell(figure.title),
                Cell(figure_unit(units, key)),
                Cell("" if expected is None else figure_number(units, key, expected)),
                Cell("" if actual is None else figure_number(units, key, actual)),
                Cell("" if actual is None or expected is None else
                     figure_difference(units, key, actual - expected)),
                Cell(shapes=(Shape(shape, "", value.verdict),) if shape else ()),
            )
        )
    return Table(
        "figures", "Headline figures, and those not on plan",
        (Column("Figure"), Column("Unit"), Column("Expected", True), Column("Actual", True),
         Column("Difference", True), Column("Verdict")),
        tuple(rows),
    )  # fmt: skip


def _matters(data: LedgerData, summary: Summary) -> Table | None:
    """Return what the U of each figure of a plan comes from; None once it is brewed."""
    rows = []
    for matter in summary.matters:
        figure, units = FIGURES[matter.figure], data.units
        spread = units.width(matter.uncertainty, figure.kind, figure.decimals + 1)
        for number, (cause, share) in enumerate(matter.causes):
            first = number == 0
            rows.append((
                Cell(figure.title if first else ""),
                Cell(f"±{spread} {figure_unit(units, matter.figure)}".strip() if first else ""),
                Cell(cause),
                Cell(f"{share:.0%}", sort=f"{share:.4f}"),
                Cell("█" * max(1, round(12 * share)), soft=True),
            ))  # fmt: skip
    if not rows:
        return None
    return Table(
        "matters", "Where the uncertainty of the forecast comes from",
        (Column("Figure"), Column("±U", True), Column("Cause"), Column("Share", True),
         Column("Bar")),
        tuple(rows),
    )  # fmt: skip


def unusual_words(data: LedgerData, summary: Summary) -> list[str]:
    """Return what is beyond an action limit; on plan all the same, it is permitted but unusual."""
    texts = []
    for entry in data.unusual.get(summary.id, ()):
        off = {f for d in summary.deviations for f in d.figures} & set(entry.series.measure.figures)
        words = unusual_sentence(entry, data.units)
        texts.append(words if off else f"Permitted, but unusual for you. {words}")
    return texts


def _deviation(data: LedgerData, deviation: DeviationValue) -> LedgerDeviation:
    cause = " ".join(deviation.cause.split())
    if cause and deviation.cause_certainty:
        cause = f"{cause} ({deviation.cause_certainty})"
    pairs = (
        ("Off by", change_words(data, deviation)),
        ("What happened", deviation.what),
        ("Cause", cause),
        ("Effect", deviation.effect),
        ("Correction", deviation.correction),
        ("Corrective action", deviation.corrective_action),
        ("Other batches", deviation.other_batches),
        ("Disposition", deviation.disposition),
        ("Closed", " ".join(p for p in (deviation.closed_on, deviation.closed_by) if p)),
    )
    return LedgerDeviation(
        f"{shown_in(deviation)}, {deviation.severity}",
        "open" if deviation.is_open else "closed",
        deviation.is_open,
        tuple(Labelled(label, " ".join(text.split())) for label, text in pairs if text.strip()),
    )


def _shared_words(data: LedgerData, shared: Shared) -> str:
    if shared.what == "kit":
        return f"The same kit, {shared.name.replace('_', ' ')}"
    yeast, _, other = shared.name.partition(",")
    name = name_of(data.stock.yeasts, yeast)
    return f"Another line of {name}" if other else f"The same line of {name}"


def _shared(data: LedgerData, batch_trace: BatchTrace) -> tuple[SharedView, ...]:
    """Return the batches with the same yeast or kit; those with the same lots stand at the lots."""
    return tuple(
        SharedView(
            _shared_words(data, shared),
            tuple(
                Link(batch_href(b, ROOT), b) for b in shared.nearest(batch_trace.batch, MOST_NAMED)
            ),
            more_words(shared.count),
        )
        for shared in batch_trace.shared
        if shared.what != "lot"
    )


def _notes(summary: Summary) -> list[Note]:
    notes = []
    if summary.learned:
        notes.append(Note("Learned, for the next plan", to_html(summary.learned)))
    for check, because in summary.silenced:
        notes.append(Note(f"Check silenced: {check}", to_html(because)))
    for stage, reason in summary.problems:
        notes.append(Note(f"The {stage} cannot be forecast in full", to_html(reason)))
    return notes
