"""The chart of what matters to this house: the figures that leave the plan most, batch by batch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from reportgen.forecast.figures import FIGURES
from reportgen.history.row import BatchRow
from reportgen.record.finding import Severity
from reportgen.report.charts import Chart
from reportgen.report.svg import INK, PALE, SOFT, Drawing

MOST_FIGURES = 6
"""Figures drawn: those that were off plan in most batches."""

MOST_BATCHES = 30
"""Batches drawn: the latest that were brewed."""

FEWEST_BATCHES = 3
"""With fewer brewed there is nothing to compare."""

NAMES, WIDTH, TOP, PITCH = 118.0, 420.0, 12.0, 15.0
"""Room for the names, width of the drawing, its first row, from row to row; points."""

class OffPlanLine(Struct, frozen=True):
    """A figure, with the worst severity in each batch in which it was off plan, by batch id."""

    key: str
    batches: Mapping[str, Severity]

    @property
    def title(self) -> str:
        """Its title; what is not a figure stands in the brewer's words."""
        figure = FIGURES.get(self.key)
        return figure.title if figure is not None else self.key.replace("_", " ").capitalize()


def off_plan_lines(rows: Sequence[BatchRow]) -> tuple[OffPlanLine, ...]:
    """Return the figures off plan in some batches: in most first, then by how much it weighed.

    A note counts for nothing: it is no reason to change anything.
    """
    severities: dict[str, dict[str, Severity]] = {}
    for row in rows:
        for deviation in row.deviations:
            if deviation.severity is Severity.NOTE:
                continue
            for key in deviation.figures:
                own = severities.setdefault(key, {})
                own[row.id] = max(deviation.severity, own.get(row.id, Severity.NOTE))
    lines = [OffPlanLine(key, batches) for key, batches in severities.items()]
    return tuple(sorted(lines, key=lambda line: (
        -len(line.batches), -sum(s.rank for s in line.batches.values()), line.title,
    )))  # fmt: skip


def off_plan_chart(rows: Sequence[BatchRow]) -> Chart | None:
    """Return what left the plan in the latest batches; None when nothing did, or few are brewed."""
    brewed = sorted((row.brewed, row.id, row) for row in rows if row.brewed)
    shown = [row for _, _, row in brewed[-MOST_BATCHES:]]
    lines = off_plan_lines(shown)[:MOST_FIGURES]
    if len(shown) < FEWEST_BATCHES or not lines:
        return None
    words = "; ".join(f"{line.title} in {len(line.batches)}" for line in lines)
    words = f"Off plan in the last {len(shown)} batches brewed: {words}."
    drawing = Drawing(TOP + PITCH * len(lines) + 16, words, WIDTH)
    step = (WIDTH - NAMES) / len(shown)
    for number, line in enumerate(lines):
        y = TOP + PITCH * number
        drawing.words(0, y + 3, line.title)
        drawing.line([(NAMES, y), (WIDTH, y)], PALE, 0.75)
        for place, row in enumerate(shown):
            severity = line.batches.get(row.id)
            x = NAMES + step * (place + 0.5)
            if severity is Severity.MINOR:
                drawing.square(x, y, filled=False, size=6)
            elif severity is not None:
                drawing.square(x, y, size=8)
    foot = TOP + PITCH * len(lines) + 8
    drawing.line([(NAMES, foot - 12), (WIDTH, foot - 12)], INK, 0.5)
    drawing.words(NAMES, foot, shown[0].id, colour=SOFT)
    drawing.words(WIDTH, foot, shown[-1].id, "end", colour=SOFT)
    return Chart("What leaves the plan", drawing.svg(), words)
