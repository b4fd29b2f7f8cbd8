"""Plan against actual: a line for every figure that is read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.assessment.results import Result
from reportgen.assessment.verdicts import DECISION_RULE, Verdict
from reportgen.forecast.figures import Stage
from reportgen.record.printed import BLANK, Units
from reportgen.record.values import Clock, Moment, State
from reportgen.report.parts import Labelled
from reportgen.report.plan_text import printed_as
from reportgen.report.rows import possible, stop_at
from reportgen.report.working import line_key

MARKS = {
    Verdict.ON_PLAN: "on",
    Verdict.TOO_CLOSE: "close",
    Verdict.OFF_PLAN: "off",
    Verdict.NOT_RECORDED: "blank",
}
"""Name of the shape that stands beside the words of a verdict."""


class Mark(NamedTuple):
    """A verdict: the shape and the words beside it. No shape where there is no verdict."""

    shape: str
    words: str


class FigureLine(NamedTuple):
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
    lines: str


class FigureGroup(NamedTuple):
    """The lines of one stage."""

    title: str
    lines: tuple[FigureLine, ...]


def plan_note(assessment: Assessment) -> str:
    """Say whether the plan is the one that was printed on the sheet."""
    issued = assessment.record.issued
    ours = assessment.batch.plan_hash
    if issued is None:
        return f"Plan {ours}. The record does not say which sheet was used (issued:)."
    if str(issued.plan) != ours:
        numbers = f" and numbers {issued.numbers}" if issued.numbers is not None else ""
        return (
            "The plan was changed after the sheet was issued: the sheet has "
            f"{issued.plan}{numbers}, the plan is now {ours}. Where git has the earlier plan, "
            "reportgen check says what was changed."
        )
    copy = f", copy {issued.copy.value:.0f}" if issued.copy else ""
    on = f", issued {issued.on}" if issued.on else ""
    then = assessment.house_then
    if then is not None and then.revision:
        return (
            f"Plan {ours}, numbers {issued.numbers}, as on the sheet{copy}{on}: by brewery and "
            f"stock of revision {then.revision} of {then.day}. Those of now give {then.numbers}; "
            "reportgen check says what was changed."
        )
    if issued.numbers is not None and str(issued.numbers) != (now := numbers_hash(assessment)):
        return (
            f"Plan {ours}, as on the sheet{copy}{on}, but its numbers cannot be had again: "
            f"the sheet has {issued.numbers}, the plan now gives {now}. "
            "reportgen check says what was changed."
        )
    numbers = f", numbers {issued.numbers}" if issued.numbers is not None else ""
    return f"Plan {ours}{numbers}, as on the sheet{copy}{on}."


def unit_notes(units: Units) -> tuple[Labelled, ...]:
    """Say what the numbers of the table mean."""
    cold = units.text(20.0, "temperature", 0)
    return (
        Labelled("Gravity", "specific gravity 20/20 °C"),
        Labelled("Volume", f"{units.label('volume')}; cold: at {cold}"),
        Labelled("U", "expanded uncertainty, k = 2"),
        Labelled(
            "OK range", "the acceptance interval: the limits, narrowed by the U of the reading"
        ),
        Labelled("Verdict", DECISION_RULE),
    )


def figure_groups(
    assessment: Assessment, units: Units, numbers: Mapping[str, str]
) -> tuple[FigureGroup, ...]:
    """Return what is read or follows from readings, stage by stage.

    ``numbers`` has by figure its lines in the Working.
    """
    groups = []
    for stage in Stage:
        lines = tuple(
            _figure_line(assessment, result, units, numbers.get(result.figure.key, ""))
            for result in assessment.results
            if result.figure.stage is stage and (result.figure.path or result.actual is not None)
        )
        if lines:
            groups.append(FigureGroup(stage.value, lines))
    for other in assessment.others_filled:
        lines = tuple(
            _figure_line(other, result, units, numbers.get(line_key(other, result.figure.key), ""))
            for result in other.own_packing if result.figure.path or result.actual is not None
        )
        if lines:
            groups.append(FigureGroup(f"{Stage.PACK.value}: {other.packed_in}", lines))
    return tuple(groups)


def mark_of(result: Result) -> Mark:
    """Return the mark of a figure: its verdict, or why it has none."""
    if result.actual is not None and result.actual.reading.state is State.NOT_DONE:
        return Mark("", "not done")
    if result.verdict is None:
        derived = result.actual is not None and result.actual.derived_from
        return Mark("", "computed" if derived else "")
    return Mark(MARKS[result.verdict], result.verdict.value)


def is_stop(result: Result) -> bool:
    """Whether the sheet has a limit at which to stop rather than a number to expect."""
    return result.figure.is_stop and result.limits is not None


def difference_of(assessment: Assessment, result: Result) -> tuple[float | None, float | None]:
    """Return the number that the sheet has for a figure, and what was read less that number.

    In the base unit; None for what there is not.
    """
    if is_stop(result):
        plan = stop_at(assessment, result.figure)
    else:
        plan = result.expected.value if result.expected is not None else None
    read = result.actual.value if result.actual is not None else None
    return plan, None if plan is None or read is None else read - plan


def _figure_line(
    assessment: Assessment, result: Result, units: Units, lines: str
) -> FigureLine:
    figure, actual = result.figure, result.actual
    kind, decimals = printed_as(figure, assessment.case)
    value = actual.value if actual is not None else None
    plan, difference = difference_of(assessment, result)
    notes = (*_plan_notes(assessment, result, units), *_reading_notes(result))
    return FigureLine(
        title=figure.title,
        unit=units.head(kind),
        plan=BLANK if plan is None else units.number(plan, kind, decimals),
        ok=units.range(*possible(result.sheet_range, kind), kind, decimals)
        if result.sheet_range else "",
        actual=BLANK if value is None else units.number(value, kind, decimals),
        difference="" if difference is None else units.difference(difference, kind, decimals),
        uncertainty=units.plus_minus(actual.uncertainty, kind, decimals)
        if actual is not None and value is not None and actual.uncertainty else "",
        mark=mark_of(result),
        # The day of an analysis stands once, in the notes; a day is too long for the column.
        when=str(actual.reading.at) if actual and isinstance(actual.reading.at, Clock) else "",
        by=str(actual.reading.by or "") if actual else "",
        note=" ".join(notes),
        lines=lines,
    )


def _plan_notes(assessment: Assessment, result: Result, units: Units) -> Iterator[str]:
    """Say that the plan is the number to stop at, or another than the one judged by."""
    if result.expected is None:
        return
    kind, decimals = printed_as(result.figure, assessment.case)
    now = units.text(result.expected.value, kind, decimals)
    if is_stop(result):
        yield f"plan: stop at; forecast {now}"
    planned = assessment.planned.expected.get(result.figure.key)
    if planned is not None and result.actual is not None:
        before = units.text(planned.value, kind, decimals)
        if before != now:
            yield f"for the beer temperature read; {before} on the sheet"


def _reading_notes(result: Result) -> list[str]:
    actual = result.actual
    if actual is None:
        return []
    notes = []
    if isinstance(actual.reading.at, Moment):
        notes.append(f"read {actual.reading.at}")
    if actual.reading.again is not None and actual.reading.value is not None:
        notes.append(f"mean of {actual.reading.value.text} and {actual.reading.again.text}")
    if actual.reading.was is not None:
        notes.append("†")
    if actual.reading.state is State.NOT_DONE:
        notes.append(f"not done because {actual.reading.reason}")
    sample = actual.reading.sample_temperature
    if sample is not None and not actual.method:
        # Where it was corrected, the working has it.
        notes.append(f"sample at {sample.text}")
    if actual.offset:
        notes.append(actual.offset)
    if actual.analysed:
        notes.append("by analysis")
    return [*notes, *(words for words in (actual.note, actual.made_of) if words)]
