"""The chart of the runnings, and what charts share."""

from __future__ import annotations

from markupsafe import Markup
from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.forecast.figures import FIGURES
from reportgen.forecast.resolve import number_of
from reportgen.record.values import Reading, State
from reportgen.report.plan_text import units_of
from reportgen.report.rows import stop_at
from reportgen.report.svg import INK, PALE, SOFT, Drawing, Scale, nice_ticks

WIDE = 238.0
"""Width of a chart: two stand side by side."""

LEFT, RIGHT = 32.0, WIDE - 62.0
"""Room for the figures of the scale, and for the words at the end of the lines."""


class Chart(Struct, frozen=True):
    """A chart: its title, the drawing, and a sentence below it where one helps."""

    title: str
    svg: Markup
    words: str = ""


def _axis(drawing: Drawing, scale: Scale, ticks: list[float]) -> None:
    for tick in ticks:
        y = scale(tick)
        drawing.line([(LEFT, y), (RIGHT, y)], PALE, 0.5)
        drawing.words(LEFT - 4, y + 3, f"{tick:.3f}", "end", colour=SOFT)


def _sg(reading: Reading | None) -> float | None:
    if reading is None or reading.state is not State.READ or reading.value is None:
        return None
    return None if reading.value.unit == "Bx" else number_of(reading.value)


def runnings(assessment: Assessment) -> Chart | None:
    """Gravity of the runnings against what was collected, with the gravity to stop at."""
    day = assessment.record.brew_day
    if day is None or day.run_off is None:
        return None
    units = units_of(assessment)
    points = []
    for sample in day.run_off.runnings:
        gravity = _sg(sample.gravity)
        volume = sample.volume.value if sample.volume is not None else None
        if gravity is not None and volume is not None:
            points.append((units.converted(volume.value, "volume"), gravity))
    if len(points) < 2:
        return None
    end = assessment.actuals.get("last_runnings_gravity")
    full = assessment.actuals.get("kettle_volume")
    if end is not None and end.value is not None and full is not None and full.value is not None:
        last = (units.converted(full.value, "volume"), end.value)
        if last[0] > points[-1][0]:
            points.append(last)
    # Where the sheet says to stop, which is the limit and the U of the instrument.
    on_sheet = stop_at(assessment, FIGURES["last_runnings_gravity"])
    stop = assessment.case.cut_off_gravity if on_sheet is None else on_sheet
    words = (
        f"Runnings fell from {points[0][1]:.4f} to {points[-1][1]:.4f}; "
        f"the run-off was to stop at {stop:.4f}."
    )
    drawing = Drawing(98, words, WIDE)
    ticks_x = nice_ticks(0, points[-1][0], 4)
    x = Scale(0, ticks_x[-1], LEFT, RIGHT)
    ticks = nice_ticks(1.0, max(g for _, g in points), 4)
    y = Scale(ticks[0], ticks[-1], 74, 14)
    drawing.words(LEFT, 8, "Gravity of the runnings, SG", bold=True)
    _axis(drawing, y, ticks)
    drawing.line([(LEFT, y(stop)), (RIGHT, y(stop))], INK, 0.75, "1 2")
    drawing.words(RIGHT + 5, y(stop) + 3, f"stop at {stop:.4f}")
    drawing.line([(x(v), y(g)) for v, g in points], INK, 1.0)
    for v, g in points:
        drawing.dot(x(v), y(g))
    drawing.words(x(points[0][0]) + 6, y(points[0][1]) + 3, "this batch", bold=True)
    for tick in ticks_x:
        drawing.words(x(tick), 85, f"{tick:g}", "middle", colour=SOFT)
    drawing.words(LEFT, 95, f"{units.label('volume')} collected", colour=SOFT)
    return Chart("Run-off", drawing.svg())
