"""This batch against the earlier ones that it comes from, figure by figure.

Which those are must not depend on what else lies in the archive, since the same record gives the
same bytes: they are the batches that its plan starts from and those that its yeast comes from,
each with its own. What all batches of a house did stands in the ledger.
"""

from __future__ import annotations

from msgspec import Struct

from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast.figures import FIGURES, Figure
from reportgen.record.kinds import is_share
from reportgen.record.load import Batch
from reportgen.record.printed import Units
from reportgen.report.charts import Chart
from reportgen.report.plan_text import units_of
from reportgen.report.svg import INK, PALE, SOFT, WIDTH, Drawing, Scale
from reportgen.science.number import nominal

MOST = 8
"""Earlier batches shown, the latest of them."""

NAMES = 128.0
"""Width for the names of the batches, points."""

PITCH, TOP = 17.0, 34.0
LETTERS = 25
"""Letters of a batch's id and name that fit."""


class EarlierLine(Struct, frozen=True):
    """One batch: its id and name, the values of the figures, what was planned of them."""

    title: str
    values: tuple[float | None, ...]
    planned: tuple[float | None, ...]


def earlier(assessment: Assessment) -> tuple[Batch, ...]:
    """Return the brewed batches that this one comes from by plan or yeast, oldest first."""
    batches = assessment.archive.batches
    before: dict[str, Batch] = {}
    pending = [assessment.batch]
    while pending:
        record = pending.pop().record
        if record is None:
            continue
        for name in (record.plan.like, record.plan.pitch.harvested_from):
            other = batches.get(str(name)) if name else None
            if other is not None and other.id not in before and other.id != assessment.batch.id:
                before[other.id] = other
                pending.append(other)
    brewed = [
        (str(batch.record.brew_day.date), batch.id)
        for batch in before.values()
        if batch.record is not None and batch.record.brew_day is not None
    ]
    return tuple(before[id_] for _, id_ in sorted(brewed)[-MOST:])


def headline_figures() -> tuple[Figure, ...]:
    """Return the figures of the first page, in its order."""
    return tuple(figure for figure in FIGURES.values() if figure.headline)


def _line(batch: Assessment) -> EarlierLine:
    values: list[float | None] = []
    planned: list[float | None] = []
    for figure in headline_figures():
        key = figure.key
        # What is read counts only when it was; the rest is computed with the readings.
        known = key in batch.now.readings if figure.path else key in batch.now
        values.append(nominal(batch.now[key]) if known and key in batch.now else None)
        expected = batch.planned.expected.get(key)
        planned.append(None if expected is None else expected.value)
    return EarlierLine(f"{batch.record.batch} {batch.record.name}", tuple(values), tuple(planned))


def earlier_chart(assessment: Assessment) -> Chart | None:
    """Return the headline figures of this batch below those of the batches it comes from.

    None when it comes from no brewed batch, or has itself nothing to show yet.
    """
    others = [assess(assessment.archive, batch) for batch in earlier(assessment)]
    lines = [_line(other) for other in others if other is not None]
    ours = _line(assessment)
    if not lines or all(value is None for value in ours.values):
        return None
    return _drawn([*lines, ours], units_of(assessment))


def _drawn(lines: list[EarlierLine], units: Units) -> Chart:
    figures = headline_figures()
    words = _words(lines, figures, units)
    drawing = Drawing(TOP + PITCH * len(lines), words)
    width = (WIDTH - NAMES) / len(figures)
    drawing.line([(NAMES, 5), (NAMES + 8, 5)], SOFT, 1.25)
    drawing.words(NAMES + 12, 8, "planned", colour=SOFT)
    drawing.dot(NAMES + 60, 5, filled=False)
    drawing.words(NAMES + 66, 8, "earlier batch", colour=SOFT)
    drawing.dot(NAMES + 136, 5)
    drawing.words(NAMES + 142, 8, "this batch", bold=True)
    for row, line in enumerate(lines):
        y = TOP + PITCH * row + 8
        last = row == len(lines) - 1
        title = line.title if len(line.title) <= LETTERS else line.title[: LETTERS - 1] + "…"
        drawing.words(0, y + 3, title, bold=last)
        if last:
            drawing.line([(0, y - 8.5), (WIDTH, y - 8.5)], INK, 0.5)
    for column, figure in enumerate(figures):
        left = NAMES + width * column
        drawing.words(left, 25, figure.in_chart or figure.title, bold=True)
        both = [v for line in lines for v in (line.values[column], line.planned[column])
                if v is not None]
        if not both:
            continue
        # A range of nothing is given some width, so that the marks stand in the middle.
        slack = (max(both) - min(both)) * 0.06 or abs(max(both)) * 0.01 or 1.0
        scale = Scale(min(both) - slack, max(both) + slack, left + 3, left + width - 50)
        for row, line in enumerate(lines):
            y = TOP + PITCH * row + 8
            last = row == len(lines) - 1
            value, planned = line.values[column], line.planned[column]
            drawing.line([(left, y), (left + width - 47, y)], PALE, 0.75)
            if planned is not None:
                x = scale(planned)
                drawing.line([(x, y - 5.5), (x, y + 5.5)], SOFT, 1.25)
            if value is not None:
                drawing.dot(scale(value), y, filled=last)
                drawing.words(left + width - 14, y + 3, _number(figure, value, units), "end", last)
    return Chart("Against the batches it comes from", drawing.svg(), words)


def _number(figure: Figure, value: float, units: Units) -> str:
    told = units.text if is_share(figure.kind) else units.number
    return told(value, figure.kind, figure.headline_decimals)


def _words(lines: list[EarlierLine], figures: tuple[Figure, ...], units: Units) -> str:
    """Return what the drawing shows, for who cannot see it: this batch, and the span of others."""
    parts = []
    for column, figure in enumerate(figures):
        value = lines[-1].values[column]
        others = [v for line in lines[:-1] if (v := line.values[column]) is not None]
        if value is None or not others:
            continue
        low, high = (_number(figure, v, units) for v in (min(others), max(others)))
        span = low if low == high else f"{low} to {high}"
        parts.append(f"{figure.in_sentence} {_number(figure, value, units)}, before {span}")
    return f"{'; '.join(parts)}." if parts else "Nothing of the earlier batches can be compared."


__all__ = ["earlier", "earlier_chart", "headline_figures"]
