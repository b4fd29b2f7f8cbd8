"""How strong each flavour was found, tasting after tasting, on the scale of the sheet."""

from __future__ import annotations

from reportgen.assessment.assess import Assessment
from reportgen.record.model.flavours import TERMS, term_words
from reportgen.report.charts import Chart
from reportgen.report.svg import INK, PALE, SOFT, Drawing, Scale

WIDE = 238.0
"""Width of the chart: the words of the tasters stand beside it."""

LEFT, RIGHT = 70.0, 180.0
TOP, PITCH = 30.0, 10.5
FEWEST = 3
"""Tastings that make a chart."""

HIGHEST = 8
"""The top of the scale."""


def flavour_chart(assessment: Assessment) -> Chart | None:
    """Return the mean scores of all tastings as marks on the scale; None for fewer than three.

    The scores of one or two tastings are read quicker as text.

    The latest tasting is a full mark with its number, the first a hollow one; those between are
    small. A line joins first and latest, so that what has grown or faded shows.
    """
    sessions = [
        (str(s.date), {str(key): float(value.value) for key, value in s.means.items()})
        for s in assessment.record.tasting
        if s.means
    ]
    if len(sessions) < FEWEST:
        return None
    sessions.sort(key=lambda session: session[0])
    named = {name for _, scores in sessions for name in scores}
    order = [term for term in TERMS if term in named] + sorted(named - set(TERMS))
    words = _words(sessions, order)
    bottom = TOP + PITCH * len(order)
    drawing = Drawing(bottom + 4, words, WIDE)
    x = Scale(0, HIGHEST, LEFT, RIGHT)
    for tick in range(HIGHEST + 1):
        drawing.line([(x(tick), TOP - 4), (x(tick), bottom - 2)], PALE, 0.5)
        drawing.words(x(tick), TOP - 7, str(tick), "middle", colour=SOFT)
    for row, name in enumerate(order):
        y = TOP + PITCH * row + 5
        drawing.words(LEFT - 8, y + 3, term_words(name), "end")
        marks = [(number, scores[name]) for number, (_, scores) in enumerate(sessions)
                 if name in scores]
        if len(marks) > 1:
            drawing.line([(x(_inside(marks[0][1])), y), (x(_inside(marks[-1][1])), y)], INK, 0.75)
        for number, value in marks:
            latest = number == len(sessions) - 1
            first = number == 0
            drawing.dot(x(_inside(value)), y, filled=latest, radius=2.8 if latest or first else 1.8)
        drawing.words(RIGHT + 8, y + 3, _numbers([value for _, value in marks]))
    _legend(drawing, [date for date, _ in sessions])
    return Chart("Flavours, 0 none to 8 very strong", drawing.svg(), words)


def _numbers(values: list[float]) -> str:
    """Return the first and the latest score."""
    ends = values if len(values) == 1 else [values[0], values[-1]]
    return " → ".join(f"{value:.1f}" for value in ends)


def _inside(value: float) -> float:
    return min(max(value, 0.0), float(HIGHEST))


def _legend(drawing: Drawing, dates: list[str]) -> None:
    drawing.dot(LEFT, 7, filled=True, radius=2.8)
    drawing.words(LEFT + 7, 10, dates[-1], bold=True)
    if len(dates) > 1:
        drawing.dot(LEFT + 64, 7, filled=False, radius=2.8)
        between = f", {len(dates) - 2} between" if len(dates) > 2 else ""
        drawing.words(LEFT + 71, 10, f"{dates[0]}{between}")


def _words(sessions: list[tuple[str, dict[str, float]]], order: list[str]) -> str:
    """Return what the drawing shows, for who cannot see it."""
    parts = []
    for date, scores in reversed(sessions):
        words = [f"{term_words(name)} {scores[name]:.1f}" for name in order if name in scores]
        said = ", ".join(words)
        parts.append(f"Mean scores of {date}: {said}.")
    return " ".join(parts)
