"""A comparison of two batches as lines for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from reportgen.archive.changed_lines import changed_lines
from reportgen.archive.revisions import Revision
from reportgen.assessment.assess import Assessment
from reportgen.forecast.figures import FIGURES
from reportgen.history.difference import Difference, PlanEffect
from reportgen.record.model.batch import Record
from reportgen.record.model.flavours import term_words
from reportgen.record.printed import BLANK, Units
from reportgen.report.comparison import (
    apart_lines,
    common_line,
    only_lines,
    result_columns,
    result_lines,
    results_title,
    triangle_lines,
    within_line,
)
from reportgen.report.figure_text import figure_difference, figure_number, figure_title
from reportgen.report.ledger import DISPOSITIONS
from reportgen.report.text_table import text_table, wrapped

SHOWN_LINES = 40
"""Changed lines of a record that are shown."""


class ComparedSide(Struct, frozen=True):
    """One of the two: the assessment, and the revision it was read from, if any."""

    assessment: Assessment
    revision: Revision | None

    @property
    def title(self) -> str:
        """The batch with its name, brew day and revision."""
        record = self.assessment.record
        day = f"brewed {record.brew_day.date}" if record.brew_day else "not brewed yet"
        words = f"{record.batch}  {record.name}, {day}{_became(record)}"
        if self.revision is None:
            return words
        return f"{words}, at {self.revision.short} ({self.revision.day}, {self.revision.subject})"

    @property
    def label(self) -> str:
        """A short name for a column."""
        batch = str(self.assessment.record.batch)
        return batch if self.revision is None else f"{batch}@{self.revision.commit[:7]}"


def _became(record: Record) -> str:
    """Say what became of a batch that is not to be drunk as planned; nothing of a sound one."""
    decided = str(record.review.disposition or "") if record.review is not None else ""
    return f", {DISPOSITIONS[decided]}" if decided not in ("", "release") else ""


def lines(sides: list[ComparedSide], difference: Difference, units: Units) -> Iterator[str]:
    """Yield the comparison as text."""
    yield f"A  {sides[0].title}"
    yield f"B  {sides[1].title}"
    yield ""
    if difference.is_none:
        text = list(_text_lines(sides))
        yield "No value of the plan, no figure, no score differs." if text else "Nothing differs."
        yield from text
        return
    for line in (*triangle_lines(difference), *apart_lines(difference), common_line(difference)):
        if line:
            yield from wrapped(line, "")
    if difference.scores:
        yield ""
        yield f"Tasted together, mean scores of {', '.join(difference.evenings)}"
        for score in difference.scores:
            one, two = (BLANK if s is None else f"{s:.1f}" for s in (score.first, score.second))
            yield f"  {term_words(score.attribute):<16} {one:>5} → {two:>5}"
    yield from _step_lines(sides, units)
    yield from _result_lines(difference, units)
    if difference.within:
        yield ""
        yield from wrapped(within_line(difference), "")
    for line in only_lines(difference, "A", "B"):
        yield ""
        yield from wrapped(line, "  ")
    yield from _effect_lines(difference, units)
    yield ""
    yield "Plan, A → B" if difference.plan else "Plan: no difference"
    for change in difference.plan:
        yield from wrapped(
            f"  {change.place}: {change.before or 'none'} → {change.after or 'none'}"
        )
    yield from _text_lines(sides)


def _step_lines(sides: list[ComparedSide], units: Units) -> Iterator[str]:
    """Yield what explains the difference of two batches that share a plan, stage by stage."""
    from reportgen.report.step_difference import share_a_plan, step_difference

    a, b = (side.assessment for side in sides)
    if not share_a_plan(a, b):
        return
    steps = step_difference(a, b)
    yield ""
    yield "From A to B: what explains the difference"
    for key, start in steps.planned.items():
        parts = [
            f"{stage.value[:1].lower()}{stage.value[1:]} {figure_difference(units, key, size)}"
            for stage, size in steps.by_stage(key)
            if abs(size) >= 0.5 * 10 ** -FIGURES[key].decimals
        ]
        rest = steps.unexplained(key)
        if rest is not None and abs(rest.size) >= 0.5 * 10 ** -FIGURES[key].decimals:
            parts.append(f"not explained {figure_difference(units, key, rest.size)}")
        ends = " → ".join(figure_number(units, key, v) for v in (start, steps.brewed[key]))
        because = f" ({'; '.join(parts)})" if parts else ""
        yield from wrapped(f"  {figure_title(key)}: {ends}{because}")


def _text_lines(sides: list[ComparedSide]) -> Iterator[str]:
    """Yield the lines that differ in the text of a record, when both sides are of the same."""
    one, two = (side.assessment.batch for side in sides)
    if one.id != two.id or one.source.data == two.source.data:
        return
    changed = changed_lines(one.source.data, two.source.data, SHOWN_LINES)
    yield ""
    yield f"Text of the record, {changed.count} lines differ (- A, + B)"
    for line in changed.shown:
        yield f"  {line}"


def _effect_lines(difference: Difference, units: Units) -> Iterator[str]:
    if not difference.plan and not difference.together:
        return
    yield ""
    if not difference.together:
        yield "What this does, by the forecast: nothing that shows in a figure"
        return
    yield "What this does, by the forecast of the plans, B less A"
    for effect in difference.together:
        parts = _parts(difference, effect, units)
        yield from wrapped(f"  {figure_title(effect.figure)}: {_effect(effect, units)}{parts}")


def _effect(effect: PlanEffect, units: Units) -> str:
    return figure_difference(units, effect.figure, effect.change)


def _parts(difference: Difference, whole: PlanEffect, units: Units) -> str:
    """Return which sections of the plan make up an effect; empty when only one does."""
    parts = [e for e in difference.effects if e.figure == whole.figure]
    if not parts:
        return ""
    named = "; ".join(f"{e.section.replace('_', '-')} {_effect(e, units)}" for e in parts)
    if len(parts) == 1 and len(difference.sections) == 1:
        return f" (all from {parts[0].section.replace('_', '-')})"
    return f" ({named})"


def _result_lines(difference: Difference, units: Units) -> Iterator[str]:
    if not difference.results:
        return
    yield ""
    yield results_title(all(difference.brewed))
    words = [
        "B less A" if word == "difference" else f"{word} {'AB'[side]}"
        for word, side in result_columns(difference)
    ]
    rows: list[tuple[str, ...]] = [("", "unit", *words)]
    for line in result_lines(difference, units):
        rows.append((line.title, line.unit, *(cell or BLANK for cell in line.cells)))
    yield from text_table(rows, range(2, len(rows[0])))
