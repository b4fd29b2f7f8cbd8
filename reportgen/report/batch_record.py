"""The batch record: the permanent document. Answer first, proof behind it."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from reportgen import __version__
from reportgen.assess import Assessment, Departure, Effect, Result
from reportgen.forecast.figures import FIGURES, Stage
from reportgen.record.finding import Severity
from reportgen.record.model.later import Deviation, Session
from reportgen.record.units import Quantity
from reportgen.record.values import Day, Moment, Reading, State, Text
from reportgen.report.balance import closures, extract_steps
from reportgen.report.charts import Chart, charts
from reportgen.report.earlier_chart import earlier_chart
from reportgen.report.flavour_chart import flavour_chart
from reportgen.report.markdown import to_html
from reportgen.report.numbers import BLANK, NARROW, Units, signed
from reportgen.report.parts import Identity
from reportgen.report.plan_text import (
    acid_name,
    dose_text,
    headline_decimals,
    identity_of,
    printed_as,
    sentence,
    units_of,
)
from reportgen.report.rows import possible
from reportgen.report.working import WorkingGroup, working
from reportgen.science.number import expanded_uncertainty, nominal
from reportgen.science.triangle import triangle_p_value
from reportgen.verdicts import Verdict

TITLE = "Batch record"

MARKS = {
    Verdict.ON_PLAN: "on",
    Verdict.TOO_CLOSE: "close",
    Verdict.OFF_PLAN: "off",
    Verdict.NOT_RECORDED: "blank",
}
"""Name of the shape that stands beside the words of a verdict."""

DISPOSITIONS = {
    "release": "Released",
    "hold": "On hold",
    "rework": "To be reworked",
    "regrade": "Regraded",
    "destroy": "Destroyed",
}
COUNT_WORDS = (
    (Verdict.ON_PLAN, "on plan"),
    (Verdict.TOO_CLOSE, "too close to call"),
    (Verdict.OFF_PLAN, "off plan"),
    (Verdict.NOT_RECORDED, "not recorded"),
)


@dataclass(frozen=True)
class Mark:
    """A verdict: the shape and the words beside it. No shape where there is no verdict."""

    shape: str
    words: str


@dataclass(frozen=True)
class Count:
    """How many figures have one verdict."""

    mark: Mark
    number: str


@dataclass(frozen=True)
class Headline:
    """One of the five numbers of the first page."""

    title: str
    plan: str
    actual: str
    uncertainty: str
    mark: Mark
    note: str


@dataclass(frozen=True)
class EffectLine:
    """What a deviation did to one figure of the beer."""

    title: str
    change: str


@dataclass(frozen=True)
class Item:
    """A label and its text, as the brewer wrote it."""

    label: str
    text: str


@dataclass(frozen=True)
class DeviationView:
    """One deviation: what, how much, what it did, what was written, whether it is closed."""

    title: str
    severity: str
    status: str
    is_open: bool
    summary: str
    effects: tuple[EffectLine, ...]
    too_small: bool
    items: tuple[Item, ...]


@dataclass(frozen=True)
class FigureLine:
    """One line of plan against actual."""

    title: str
    unit: str
    plan: str
    ok: str
    actual: str
    difference: str
    uncertainty: str
    mark: Mark
    when: str
    by: str
    note: str


@dataclass(frozen=True)
class FigureGroup:
    """The lines of one stage."""

    title: str
    lines: tuple[FigureLine, ...]


@dataclass(frozen=True)
class ClosureLine:
    """The volume balance of one stage."""

    title: str
    went_in: str
    came_out: str
    loss: str
    loss_name: str
    unexplained: str
    uncertainty: str
    verdict: str


@dataclass(frozen=True)
class ExtractLine:
    """Extract at one stage: kg, share of the grist, share of the stage before."""

    title: str
    planned: str
    mass: str
    share: str
    uncertainty: str
    stage_share: str


@dataclass(frozen=True)
class LotLine:
    """One ingredient: planned, weighed, lot, when, by whom."""

    item: str
    planned: str
    weighed: str
    lot: str
    note: str
    when: str
    by: str


@dataclass(frozen=True)
class InstrumentLine:
    """One instrument that was read."""

    name: str
    description: str
    uncertainty: str
    checked: str
    note: str


@dataclass(frozen=True)
class SignatureLine:
    """Who answers for what: printed name, role, what it means, when."""

    name: str
    role: str
    meaning: str
    when: str


@dataclass(frozen=True)
class Correction:
    """A value that was changed after it was written."""

    place: str
    was: str
    now: str
    by: str
    on: str
    because: str


@dataclass(frozen=True)
class Score:
    """Mean intensity of one attribute, 0 to 8."""

    attribute: str
    value: str


@dataclass(frozen=True)
class SessionView:
    """One tasting."""

    title: str
    tasters: str
    scores: tuple[Score, ...]
    triangle: str
    remarks: Markup


@dataclass(frozen=True)
class NoteView:
    """A free text of the record, safe HTML."""

    title: str
    html: Markup


@dataclass(frozen=True)
class CheckLine:
    """What a check says of the record: how much it weighs, what, where, how to mend it."""

    severity: str
    message: str
    check: str
    place: str
    remedy: str


@dataclass(frozen=True)
class LogLine:
    """One entry of the fermentation log."""

    when: str
    day: str
    gravity: str
    temperature: str
    ph: str
    by: str
    note: str


@dataclass(frozen=True)
class RecordView:
    """The batch record, ready to be set."""

    identity: Identity
    beer: str
    facts: tuple[Item, ...]
    sentence: str
    counts: tuple[Count, ...]
    headlines: tuple[Headline, ...]
    issues: tuple[str, ...]
    release: str
    plan_note: str
    deviations: tuple[DeviationView, ...]
    checks: tuple[CheckLine, ...]
    silenced: tuple[Item, ...]
    groups: tuple[FigureGroup, ...]
    closures: tuple[ClosureLine, ...]
    extract: tuple[ExtractLine, ...]
    charts: tuple[Chart, ...]
    earlier: Chart | None
    flavours: Chart | None
    log: tuple[LogLine, ...]
    working: tuple[WorkingGroup, ...]
    lots: tuple[LotLine, ...]
    instruments: tuple[InstrumentLine, ...]
    sessions: tuple[SessionView, ...]
    notes: tuple[NoteView, ...]
    signatures: tuple[SignatureLine, ...]
    corrections: tuple[Correction, ...]
    units: tuple[Item, ...]
    source_name: str
    source_hash: str
    version: str


def batch_record(assessment: Assessment, paper: str) -> RecordView:
    """Return the batch record of a batch."""
    units = units_of(assessment)
    deviations = tuple(_deviations(assessment, units))
    corrections = tuple(_corrections(assessment))
    return RecordView(
        identity=identity_of(assessment, TITLE, paper, None),
        beer=str(assessment.record.plan.beer or ""),
        facts=_facts(assessment, units),
        sentence=verdict_sentence(assessment, deviations),
        counts=_counts(assessment),
        headlines=_headlines(assessment, units),
        issues=tuple(_issues(assessment, deviations)),
        release=_release(assessment),
        plan_note=_plan_note(assessment),
        deviations=deviations,
        checks=tuple(_checks(assessment)),
        silenced=_silenced(assessment),
        groups=_groups(assessment, units),
        closures=_closures(assessment, units),
        extract=_extract(assessment, units),
        charts=charts(assessment),
        earlier=earlier_chart(assessment),
        flavours=flavour_chart(assessment),
        log=_log(assessment, units),
        working=working(assessment),
        lots=_lots(assessment, units),
        instruments=_instruments(assessment),
        sessions=tuple(_session(s) for s in assessment.record.tasting),
        notes=tuple(_notes(assessment)),
        signatures=tuple(_signatures(assessment)),
        corrections=corrections,
        units=_unit_notes(units),
        source_name=assessment.batch.source.file,
        source_hash=assessment.batch.source.sha256,
        version=__version__,
    )


def _facts(assessment: Assessment, units: Units) -> tuple[Item, ...]:
    record = assessment.record
    volume = BLANK
    if "fermenter_volume" in assessment.now:
        volume = units.text(nominal(assessment.now["fermenter_volume"]), "volume", 1)
    packed = record.packaging
    return (
        Item("Brewed", str(record.brew_day.date) if record.brew_day else "not yet"),
        Item("Into the fermenter", volume),
        Item("Packed", str(packed.date) if packed else "not yet"),
    )


def _plural(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def verdict_sentence(assessment: Assessment, deviations: tuple[DeviationView, ...]) -> str:
    """Return the sentence that answers first: what became of the batch, and is anything open."""
    record = assessment.record
    review = record.review
    if review is not None and review.disposition is not None:
        start = DISPOSITIONS[review.disposition]
    elif any(d.is_open and d.severity == "critical" for d in deviations):
        start = "Hold: a critical limit is not met"
    elif record.packaging is not None:
        start = "Packed, not yet released"
    elif record.fermentation is not None and record.fermentation.finished is not None:
        start = "Fermented, not yet packed"
    else:
        start = "Fermenting" if record.fermentation is not None else "Brewed"
        start = start if record.brew_day is not None else "Planned"
    if not deviations:
        read = any(r.verdict not in (None, Verdict.NOT_RECORDED) for r in assessment.results)
        return f"{start}. No deviation." if read else f"{start}. No reading is recorded."
    severities = [d.severity for d in deviations]
    parts = [
        _plural(severities.count(s), f"{s} deviation" if s != "note" else "note")
        for s in ("critical", "major", "minor", "note")
        if s in severities
    ]
    still = sum(d.is_open for d in deviations)
    listed = ", ".join(parts)
    if not still:
        end = "closed" if len(deviations) == 1 else "all closed"
    elif still == len(deviations):
        end = "open" if still == 1 else "all open"
    else:
        end = f"{still} still open"
    return f"{start} with {listed}, {end}."


def _mark(result: Result) -> Mark:
    if result.actual is not None and result.actual.state is State.NOT_DONE:
        return Mark("", "not done")
    if result.verdict is None:
        derived = result.actual is not None and result.actual.derived_from
        return Mark("", "computed" if derived else "")
    return Mark(MARKS[result.verdict], result.verdict.value)


def _counts(assessment: Assessment) -> tuple[Count, ...]:
    counts = assessment.verdict_counts()
    return tuple(Count(Mark(MARKS[v], words), str(counts[v])) for v, words in COUNT_WORDS)


def _headlines(assessment: Assessment, units: Units) -> tuple[Headline, ...]:
    """Return the headline numbers; what nobody measures is computed with the readings."""
    lines = []
    for figure in FIGURES.values():
        if not figure.headline:
            continue
        result = assessment.find(figure.key)
        expected = assessment.planned.expected.get(figure.key)
        if result is None or expected is None:
            continue
        number = assessment.as_brewed(figure.key)
        note = "computed" if number is not None and not figure.path else ""
        decimals = headline_decimals(figure)
        lines.append(
            Headline(
                figure.title,
                units.text(expected.value, figure.kind, decimals),
                BLANK if number is None else units.text(nominal(number), figure.kind, decimals),
                "" if number is None else
                units.plus_minus(expanded_uncertainty(number), figure.kind, decimals),
                _mark(result),
                note,
            )
        )
    return tuple(lines)


TOLD = ("forecast-stops", "deviation-not-closed", "plan-changed-since-issued")
"""Checks whose findings the first page tells in words of its own."""

MOST_ISSUES = 6
"""The first page stays one page: of more open issues than these it only says how many there are."""

_LAST = len(Severity)
"""Rank of an issue that weighs less than any deviation: it is listed after them."""


@dataclass(frozen=True)
class _Issue:
    """One open issue: its rank (0 is worst), the figure that it is about if any, what is open."""

    rank: int
    figure: str
    reason: str


def _issues(
    assessment: Assessment, deviations: tuple[DeviationView, ...]
) -> Iterator[str]:
    """Say what is open, worst first: each figure once, with all that is open of it."""
    found = sorted(
        (*_open_deviations(deviations), *_open_findings(assessment), *_other_issues(assessment)),
        key=lambda issue: issue.rank,
    )
    by_figure: dict[str, list[str]] = {}
    for issue in found:
        # One that is about no figure stands alone.
        reasons = by_figure.setdefault(issue.figure or issue.reason, [])
        if issue.figure and issue.reason not in reasons:
            reasons.append(issue.reason)
    lines = [f"{about}: {'; '.join(r)}" if r else about for about, r in by_figure.items()]
    yield from lines[:MOST_ISSUES]
    if len(lines) > MOST_ISSUES:
        yield f"{len(lines) - MOST_ISSUES} more: see Deviations and What the checks found"
    notes = sum(f.severity is Severity.NOTE for f in assessment.findings)
    if notes:
        yield f"{_plural(notes, 'note')} of the checks: see What the checks found"
    review = assessment.record.review
    if review is None or review.disposition is None:
        yield "No disposition yet"


def _open_deviations(deviations: tuple[DeviationView, ...]) -> Iterator[_Issue]:
    for deviation in deviations:
        if deviation.is_open:
            rank = _severity_rank(deviation.severity)
            yield _Issue(rank, deviation.title, f"{deviation.severity} deviation not closed")


def _other_issues(assessment: Assessment) -> Iterator[_Issue]:
    for stage, reason in assessment.problems:
        yield _Issue(0, "", f"The forecast stops at {stage}: {reason}")
    if any(f.rule == TOLD[2] for f in assessment.findings):
        words = "The plan was changed after the sheet was issued: see Plan against actual"
        yield _Issue(_severity_rank("major"), "", words)
    missing = [r.figure.title for r in assessment.results if r.verdict is Verdict.NOT_RECORDED]
    if missing:
        yield _Issue(_LAST, "", f"Not recorded: {', '.join(missing)}")


def _open_findings(assessment: Assessment) -> Iterator[_Issue]:
    """Say what the checks found, notes left out. A message about a figure begins with its title."""
    for finding in sorted(assessment.findings, key=lambda f: f.place):
        if finding.rule in (TOLD[0], TOLD[2]) or finding.severity is Severity.NOTE:
            continue
        severity, message = finding.severity.value, finding.message
        rank = max(0, Severity.CRITICAL.rank - finding.severity.rank)
        title, _, rest = message.partition(": ")
        if rest and any(title == figure.title for figure in FIGURES.values()):
            words = rest if finding.rule != TOLD[1] else f"deviation not written in full, {rest}"
            yield _Issue(rank, title, words)
        elif finding.rule == TOLD[1]:
            yield _Issue(rank, "", f"Deviation not written in full: {message}")
        else:
            yield _Issue(rank, "", f"{sentence(severity)}: {message}")


def _checks(assessment: Assessment) -> Iterator[CheckLine]:
    for finding in sorted(assessment.findings, key=lambda f: (-f.severity.rank, f.place)):
        where = finding.position
        yield CheckLine(
            finding.severity.value,
            sentence(finding.message),
            finding.rule,
            f"{where.file}, line {where.line}",
            finding.remedy.replace("`", ""),
        )


def _silenced(assessment: Assessment) -> tuple[Item, ...]:
    review = assessment.record.review
    return tuple(
        Item(str(s.check), " ".join(str(s.because).split()))
        for s in (review.silenced if review is not None else ())
    )


def _person(assessment: Assessment, initials: Text | str | None) -> str:
    if not initials:
        return ""
    name = assessment.brewery.people.get(str(initials))
    return f"{initials}, {name}" if name else str(initials)


def _release(assessment: Assessment) -> str:
    review = assessment.record.review
    if review is None or review.disposition is None:
        return "Nobody has decided yet what becomes of this batch."
    word = DISPOSITIONS[review.disposition]
    by = _person(assessment, review.decided_by) or "nobody named"
    on = f" on {review.decided_on}" if review.decided_on else ""
    return f"{word}{on} by {by}"


def _plan_note(assessment: Assessment) -> str:
    issued = assessment.record.issued
    ours = assessment.batch.plan_hash
    if issued is None:
        return f"Plan {ours}. The record does not say which sheet was used (issued:)."
    if str(issued.plan) != ours:
        return (
            f"The plan was changed after the sheet was issued: the sheet has {issued.plan}, "
            f"the plan is now {ours}. Where git has the earlier plan, reportgen check says what "
            "was changed."
        )
    copy = f", copy {issued.copy.value:.0f}" if issued.copy else ""
    on = f", issued {issued.on}" if issued.on else ""
    return f"Plan {ours}, as on the sheet{copy}{on}."


def _severity_rank(severity: str) -> int:
    order = ("critical", "major", "minor", "note")
    return order.index(severity) if severity in order else len(order)


def _deviations(assessment: Assessment, units: Units) -> list[DeviationView]:
    """Return the readings off plan and what was written of others, worst first."""
    views = [_departure(assessment, d, units) for d in assessment.departures]
    reviewed = [d.review for d in assessment.departures if d.review is not None]
    review = assessment.record.review
    for deviation in review.deviations if review else ():
        if any(deviation is one for one in reviewed):
            continue
        figure = FIGURES.get(str(deviation.figure))
        result = assessment.find(str(deviation.figure))
        title = figure.title if figure else sentence(str(deviation.figure).replace("_", " "))
        severity = str(deviation.severity or (figure.severity if figure else "minor"))
        summary = _summary(assessment, result, units) if result is not None else ""
        views.append(
            DeviationView(
                title, severity, _status(assessment, deviation), deviation.closed_on is None,
                summary, (), False, _items(deviation),
            )
        )
    return sorted(views, key=lambda view: _severity_rank(view.severity))


def _status(assessment: Assessment, deviation: Deviation | None) -> str:
    if deviation is None or deviation.closed_on is None:
        return "open"
    by = f" by {_person(assessment, deviation.closed_by)}" if deviation.closed_by else ""
    return f"closed {deviation.closed_on}{by}"


def _summary(assessment: Assessment, result: Result, units: Units) -> str:
    figure, actual, expected = result.figure, result.actual, result.expected
    kind, decimals = printed_as(figure, assessment.case)
    if actual is None or actual.value is None:
        if not result.is_critical or result.critical is None:
            return ""
        low, high = result.critical.low, result.critical.high
        allowed = units.range(*possible((low, high), kind), kind, decimals)
        return f"No reading; allowed {allowed} ({_origin('critical')}), which is not shown kept."
    read = units.text(actual.value, kind, decimals)
    good = units.plus_minus(actual.uncertainty, kind, decimals)
    parts = [f"Read {read} {good}"]
    if expected is not None:
        parts.append(f"expected {units.text(expected.value, kind, decimals)}")
    if result.limits is not None:
        low, high = result.limits.low, result.limits.high
        allowed = units.range(*possible((low, high), kind), kind, decimals)
        parts.append(f"allowed {allowed} ({_origin(result.limits.origin)})")
    if result.verdict is Verdict.OFF_PLAN and result.difference is not None:
        away = units.difference(result.difference, kind, decimals)
        parts.append(f"{away}, more than the instrument could explain")
    elif result.is_critical:
        parts.append("the instrument cannot tell it from the limit, so the limit is not kept")
    return "; ".join(parts) + "."


def _origin(origin: str) -> str:
    return {"plan": "by the plan", "house": "by the house", "default": "by default",
            "critical": "critical limit of the plan"}.get(origin, origin)


def _departure(assessment: Assessment, departure: Departure, units: Units) -> DeviationView:
    figure = departure.result.figure
    review = departure.review
    return DeviationView(
        figure.title,
        departure.severity,
        _status(assessment, review),
        departure.is_open,
        _summary(assessment, departure.result, units),
        tuple(_effect(e, units) for e in departure.effects if e.can_be_told),
        any(not e.can_be_told for e in departure.effects),
        _items(review) if review is not None else (),
    )


def _effect(effect: Effect, units: Units) -> EffectLine:
    figure, change, uncertainty = effect.figure, effect.change, effect.uncertainty
    decimals = figure.decimals
    if figure.kind == "fraction":
        shown = max(decimals, 4) - 2
        text = f"{signed_percent(change, shown)} ±{100 * uncertainty:.{shown}f}"
        return EffectLine(figure.title, f"{text}{NARROW}% points")
    # One decimal more than the figure itself, since a change is smaller than the thing.
    more = decimals if figure.kind == "gravity" else decimals + 1
    text = units.difference(change, figure.kind, more)
    text += f" {units.plus_minus(uncertainty, figure.kind, more)}"
    return EffectLine(figure.title, units.join(text, figure.kind))


def signed_percent(share: float, decimals: int) -> str:
    """Return a share as per cent with its sign."""
    shown = f"{abs(share) * 100:.{decimals}f}"
    if not shown.strip("0."):
        return shown
    return signed(shown) if share > 0 else f"\u2212{shown}"


def _items(deviation: Deviation) -> tuple[Item, ...]:
    cause = str(deviation.cause or "")
    if cause and deviation.cause_is:
        cause = f"{cause} ({deviation.cause_is})"
    elif deviation.cause_is == "unknown":
        cause = "unknown"
    pairs = (
        ("What happened", deviation.what),
        ("Cause", cause),
        ("Effect, beyond what is computed", deviation.effect),
        ("Done about this batch", deviation.correction),
        ("Against the next time", deviation.corrective_action),
        ("Other batches", deviation.other_batches),
        ("Disposition", deviation.disposition),
    )
    return tuple(Item(label, str(text)) for label, text in pairs if text)


def _when(reading: Reading | None) -> str:
    return "" if reading is None or reading.at is None else str(reading.at)


def _reading_note(result: Result) -> str:
    actual = result.actual
    if actual is None:
        return ""
    notes = []
    if actual.reading.was is not None:
        notes.append("†")
    if actual.state is State.NOT_DONE:
        notes.append(f"not done because {actual.reading.reason}")
    if actual.offset:
        notes.append(actual.offset)
    if actual.note:
        notes.append(actual.note)
    return " ".join(notes)


def _groups(assessment: Assessment, units: Units) -> tuple[FigureGroup, ...]:
    groups = []
    for stage in Stage:
        lines = tuple(
            _figure_line(assessment, result, units)
            for result in assessment.results
            if result.figure.stage is stage and (result.figure.path or result.actual is not None)
        )
        if lines:
            groups.append(FigureGroup(stage.value, lines))
    return tuple(groups)


def _figure_line(assessment: Assessment, result: Result, units: Units) -> FigureLine:
    figure, actual = result.figure, result.actual
    kind, decimals = printed_as(figure, assessment.case)
    has_value = actual is not None and actual.value is not None
    value = actual.value if actual is not None and actual.value is not None else 0.0
    return FigureLine(
        title=figure.title,
        unit="SG" if kind == "gravity" else units.label(kind),
        plan=units.number(result.expected.value, kind, decimals) if result.expected else BLANK,
        ok=units.range(*possible(result.sheet_range, kind), kind, decimals)
        if result.sheet_range else "",
        actual=units.number(value, kind, decimals) if has_value else BLANK,
        difference="" if result.difference is None else
        units.difference(result.difference, kind, decimals),
        uncertainty=units.plus_minus(actual.uncertainty, kind, decimals)
        if has_value and actual is not None and actual.uncertainty else "",
        mark=_mark(result),
        when=_when(actual.reading if actual else None),
        by=str(actual.reading.by or "") if actual else "",
        note=f"{_moved_note(assessment, result, units)} {_reading_note(result)}".strip(),
    )


def _moved_note(assessment: Assessment, result: Result, units: Units) -> str:
    """Say that a reading is held against another number than the sheet's, or nothing."""
    planned = assessment.planned.expected.get(result.figure.key)
    if planned is None or result.expected is None or result.actual is None:
        return ""
    kind, decimals = printed_as(result.figure, assessment.case)
    before = units.text(planned.value, kind, decimals)
    if before == units.text(result.expected.value, kind, decimals):
        return ""
    return f"for the beer temperature read; {before} on the sheet"


def _closures(assessment: Assessment, units: Units) -> tuple[ClosureLine, ...]:
    return tuple(
        ClosureLine(
            c.title,
            units.number(c.went_in, "volume", 1),
            units.number(c.came_out, "volume", 1),
            units.number(c.known_loss, "volume", 1),
            c.loss_name,
            units.difference(c.unexplained, "volume", 1) if c.measured else BLANK,
            units.plus_minus(c.uncertainty, "volume", 1) if c.measured else "",
            "not all read" if not c.measured else
            "within U" if c.is_explained else "not explained",
        )
        for c in closures(assessment)
    )


def _extract(assessment: Assessment, units: Units) -> tuple[ExtractLine, ...]:
    lines = []
    before: float | None = None
    for step in extract_steps(assessment):
        share = "" if step.actual is None else f"{step.actual * 100:.1f}"
        stage = ""
        if before and step.actual is not None:
            stage = f"{step.actual / before * 100:.1f}"
        lines.append(
            ExtractLine(
                step.title,
                f"{step.planned * 100:.1f}",
                "" if step.mass is None else units.text(step.mass, "mass", 2),
                share,
                f"±{step.uncertainty * 100:.1f}" if step.uncertainty else "",
                stage,
            )
        )
        before = step.actual
    return tuple(lines)


def _log(assessment: Assessment, units: Units) -> tuple[LogLine, ...]:
    fermentation = assessment.record.fermentation
    if fermentation is None:
        return ()
    lines = []
    for entry, point in zip(fermentation.log, assessment.log, strict=False):
        lines.append(
            LogLine(
                str(entry.at),
                f"{point.hours / 24:.1f}",
                "" if point.gravity is None else f"{point.gravity:.4f}",
                "" if point.temperature is None else
                units.number(point.temperature, "temperature", 1),
                "" if point.ph is None else f"{point.ph:.2f}",
                str(entry.by or ""),
                str(entry.note or ""),
            )
        )
    return tuple(lines)


def _item_name(assessment: Assessment, key: str) -> str:
    stock = assessment.stock
    if key in stock.acids:
        return sentence(acid_name(assessment, key))
    for table in (stock.malts, stock.sugars, stock.hops, stock.yeasts, stock.finings):
        if key in table:
            item = table[key]
            return str(getattr(item, "name", None) or sentence(key.replace("_", " ")))
    return sentence(key.replace("_", " "))


def _planned_amounts(assessment: Assessment) -> dict[str, list[Quantity]]:
    plan = assessment.record.plan
    steeped = plan.boil.steep.hops if plan.boil.steep else ()
    pairs: list[tuple[str, Quantity]] = [(str(g.malt), g.amount) for g in plan.grist]
    pairs += [(str(s.sugar), s.amount) for s in plan.sugars]
    pairs += [(str(s.salt), s.amount) for s in plan.liquor.salts]
    pairs += [(str(a.acid), a.amount) for a in plan.liquor.acids]
    pairs += [(str(h.hop), h.amount) for h in (*plan.boil.hops, *steeped)]
    pairs += [(str(f.fining), f.amount) for f in (*plan.boil.finings, *plan.ferment.finings)]
    pairs += [(str(d.hop), d.amount) for d in plan.ferment.dry_hops]
    found: dict[str, list[Quantity]] = {}
    for key, quantity in pairs:
        found.setdefault(key, []).append(quantity)
    return found


def _dose(quantity: Quantity, units: Units, key: str, assessment: Assessment) -> str:
    stock = assessment.stock
    if key in stock.salts:
        units = Units()
    small = key in stock.hops or key in stock.salts or key in stock.acids or key in stock.finings
    return dose_text(quantity, units, small)


def _lots(assessment: Assessment, units: Units) -> tuple[LotLine, ...]:
    planned = {
        key: " + ".join(_dose(q, units, key, assessment) for q in quantities)
        for key, quantities in _planned_amounts(assessment).items()
    }
    day = assessment.record.brew_day
    lines = []
    seen = set()
    for weighed in day.weighed if day else ():
        key = str(weighed.item)
        reading = weighed.amount
        amount = reading.state.value
        if reading.value is not None:
            amount = _dose(reading.value, units, key, assessment)
        if reading.was is not None:
            amount += " †"
        initials = ", ".join(str(i) for i in (weighed.by, weighed.checked_by) if i)
        lines.append(
            LotLine(
                _item_name(assessment, key),
                "" if key in seen else planned.get(key, "not planned"),
                amount,
                str(weighed.lot or BLANK),
                _lot_note(assessment, key, str(weighed.lot or "")),
                str(weighed.at or reading.at or ""),
                initials,
            )
        )
        seen.add(key)
    lines += [
        LotLine(_item_name(assessment, key), text, BLANK, BLANK, "not written down", "", "")
        for key, text in planned.items()
        if key not in seen
    ]
    pitch = assessment.record.plan.pitch
    origin = f"from {pitch.harvested_from}" if pitch.harvested_from else ""
    if pitch.generation is not None:
        origin = ", ".join(p for p in (origin, f"generation {pitch.generation.value:.0f}") if p)
    lot = day.pitch.lot if day and day.pitch else None
    pitched = day.pitch.yeast_amount if day and day.pitch else None
    lines.append(
        LotLine(
            _item_name(assessment, str(pitch.yeast)),
            dose_text(pitch.amount, units, False) if pitch.amount else "",
            dose_text(pitched.value, units, False) if pitched and pitched.value else BLANK,
            str(lot or pitch.lot or BLANK),
            origin,
            str(day.pitch.at or "") if day and day.pitch else "",
            "",
        )
    )
    return tuple(lines)


def _lot_note(assessment: Assessment, key: str, lot: str) -> str:
    if not lot:
        return ""
    stock = assessment.stock
    for table in (stock.malts, stock.sugars, stock.hops, stock.yeasts, stock.salts, stock.acids,
                  stock.finings):
        if key in table and lot in table[key].lots:
            known = table[key].lots[lot]
            notes = [f"best before {known.best_before}"] if known.best_before else []
            if known.supplier:
                notes.insert(0, str(known.supplier))
            return ", ".join(notes)
    return "not in stock.yaml"


def _instruments(assessment: Assessment) -> tuple[InstrumentLine, ...]:
    used = dict.fromkeys(a.instrument for a in assessment.actuals.values() if a.instrument)
    lines = []
    for name in used:
        instrument = assessment.brewery.instruments.get(name)
        if instrument is None:
            lines.append(InstrumentLine(name, "not in brewery.yaml", "", "", ""))
            continue
        stated = instrument.uncertainty or instrument.resolution
        lines.append(
            InstrumentLine(
                name.replace("_", " "),
                str(instrument.description or instrument.reads),
                f"±{stated.text}" if instrument.uncertainty else f"reads to {stated.text}",
                str(instrument.checked or "never"),
                str(instrument.check_note or ""),
            )
        )
    return tuple(lines)


def _session(session: Session) -> SessionView:
    triangle = ""
    if session.triangle is not None:
        test = session.triangle
        tasters, correct = round(test.tasters.value), round(test.correct.value)
        p = float(triangle_p_value(tasters, correct))
        meaning = "the tasters told them apart" if p <= 0.05 else "no difference shown"
        triangle = (
            f"Triangle test against {test.against}: {correct} of {tasters} found the odd glass; "
            f"p = {p:.3f}, {meaning} at the 5 % level (ISO 4120)."
        )
    code = f", glass {session.blind_code}" if session.blind_code else ""
    return SessionView(
        f"{session.date}{code}",
        ", ".join(str(t) for t in session.tasters),
        tuple(
            Score(str(key), f"{value.value:.1f}") for key, value in session.scores.items()
        ),
        triangle,
        to_html(session.remarks),
    )


def _notes(assessment: Assessment) -> Iterator[NoteView]:
    record = assessment.record
    day = record.brew_day
    texts: list[tuple[str, Text | None]] = [("Plan", record.plan.notes)]
    if day is not None:
        texts.append(("Liquor", day.liquor_note))
        for title, section in (
            ("Mash", day.mash), ("Run-off", day.run_off), ("Boil", day.boil),
            ("Cool and pitch", day.pitch),
        ):
            texts.append((title, section.remarks if section else None))
        texts.append(("Brew day", day.remarks))
    if record.fermentation is not None:
        texts.append(("Fermentation", record.fermentation.remarks))
        if record.fermentation.harvest is not None:
            texts.append(("Harvest", record.fermentation.harvest.note))
    if record.packaging is not None:
        texts.append(("Packing", record.packaging.remarks))
        texts.append(("Label", record.packaging.label))
    if record.review is not None:
        texts.append(("Learned, for the next plan", record.review.learned))
    for title, text in texts:
        if text:
            yield NoteView(title, to_html(text))


def _signatures(assessment: Assessment) -> Iterator[SignatureLine]:
    record = assessment.record
    day = record.brew_day

    def line(initials: Text | None, role: str, meaning: str, when: object) -> SignatureLine:
        return SignatureLine(_person(assessment, initials), role, meaning, str(when or ""))

    if record.plan.written_by:
        yield line(record.plan.written_by, "Planner", "wrote the plan", "")
    if day is not None:
        for brewer in day.brewers:
            yield line(brewer, "Brewer", "brewed, and wrote it down as it happened", day.date)
        if day.typed_by:
            yield line(day.typed_by, "Typist", "typed the record from the sheet", "")
        if day.checked_by:
            yield line(day.checked_by, "Checker", "compared the record with the sheet", "")
    if record.packaging is not None and record.packaging.packed_by:
        yield line(record.packaging.packed_by, "Packer", "packed the beer", record.packaging.date)
    if record.review is not None and record.review.decided_by:
        yield line(
            record.review.decided_by, "Releaser",
            f"decided: {record.review.disposition or 'nothing yet'}", record.review.decided_on,
        )


def _corrections(assessment: Assessment) -> Iterator[Correction]:
    """Find every reading that was changed, wherever it stands in the record."""
    for place, reading in _readings(assessment.record, ""):
        if reading.was is not None:
            yield Correction(
                place,
                reading.was.text,
                reading.value.text if reading.value else reading.state.value,
                _person(assessment, reading.corrected_by),
                str(reading.corrected_on or ""),
                str(reading.because or ""),
            )


def _readings(value: object, place: str) -> Iterator[tuple[str, Reading]]:
    if isinstance(value, Reading):
        yield place, value
    elif isinstance(value, tuple):
        for number, item in enumerate(value, 1):
            yield from _readings(item, f"{place} {number}")
    elif dataclasses.is_dataclass(value) and not isinstance(value, (Quantity, Day, Moment, type)):
        for field in dataclasses.fields(value):
            if field.name != "position":
                step = field.name.replace("_", " ")
                where = f"{place}, {step}" if place else step
                yield from _readings(getattr(value, field.name), where)


def _unit_notes(units: Units) -> tuple[Item, ...]:
    return (
        Item("Gravity", "specific gravity 20/20 °C"),
        Item("Volume", f"{units.label('volume')} at 20 °C"),
        Item("U", "expanded uncertainty, k = 2"),
        Item("OK range", "the limits, narrowed by the U of the reading"),
    )


def date_of(part: object) -> datetime.date:
    """Return the last day that a record, or a part of it, itself knows of; it dates the document.

    The clock never does, so that the same record gives the same bytes on any day.
    """
    days: list[datetime.date] = []
    stack: list[object] = [part]
    while stack:
        value = stack.pop()
        if isinstance(value, Day):
            days.append(value.date)
        elif isinstance(value, Moment):
            days.append(value.at.date())
        elif isinstance(value, tuple):
            stack.extend(value)
        elif dataclasses.is_dataclass(value) and not isinstance(value, type):
            stack.extend(
                getattr(value, f.name) for f in dataclasses.fields(value) if f.name not in AHEAD
            )
    return max(days, default=EPOCH)


AHEAD = ("best_before",)
"""Dates that lie ahead of the record rather than behind it."""

EPOCH = datetime.date(2000, 1, 1)
"""Date of a document whose record has no date at all."""
