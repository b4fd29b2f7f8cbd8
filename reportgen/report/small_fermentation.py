"""Fermentation as a small chart: gravity with the band expected, temperature below it."""

from __future__ import annotations

import math

from reportgen.assessment.assess import Assessment
from reportgen.forecast.ferment import starting_gravity
from reportgen.record.printed import NARROW
from reportgen.report.charts import Chart
from reportgen.report.plan_text import units_of
from reportgen.report.svg import INK, PALE, SOFT, Drawing, Scale
from reportgen.science.fermentation import expected_band
from reportgen.science.number import nominal

WIDE, LEFT, RIGHT = 240.0, 30.0, 196.0
"""Width of the drawing, and between what the curves lie, points."""

TOP, BOTTOM, WARM_TOP, WARM_BOTTOM = 14.0, 66.0, 76.0, 94.0
HEIGHT = 108.0
"""Heights of the gravity, of the temperature, and of the whole, points."""

POINTS = 48
"""Points of the curve of what was expected."""


def small_fermentation(assessment: Assessment) -> Chart | None:
    """Return gravity and temperature against time; None while nothing was read."""
    read = [p for p in assessment.log if p.gravity is not None or p.temperature is not None]
    if not read or "final_gravity" not in assessment.now:
        return None
    if "final_gravity" not in assessment.planned.expected:
        return None
    og = nominal(starting_gravity(assessment.now))
    fg = assessment.planned.expected["final_gravity"]
    days = max(2, math.ceil(max(p.hours for p in read) / 24))
    drawing = Drawing(HEIGHT, _words(assessment, og, fg.value), WIDE)
    x = Scale(0, days, LEFT, RIGHT)
    _gravity(drawing, assessment, x, days, og)
    _temperature(drawing, assessment, x)
    for day in range(0, days + 1, max(1, round(days / 7))):
        drawing.words(x(day), HEIGHT - 3, str(day), "middle", colour=SOFT)
    drawing.words(WIDE, HEIGHT - 3, "days", "end", colour=SOFT)
    return Chart("Fermentation", drawing.svg())


def _gravity(drawing: Drawing, assessment: Assessment, x: Scale, days: int, og: float) -> None:
    fg = assessment.planned.expected["final_gravity"]
    points = [(p.hours / 24, p.gravity) for p in assessment.log if p.gravity is not None]
    low = min([fg.value - fg.uncertainty, *(g for _, g in points)]) - 0.001
    y = Scale(low, og, BOTTOM, TOP)
    times = [days * n / POINTS for n in range(POINTS + 1)]
    bands = [
        expected_band(24 * t, og, fg.value, max(fg.uncertainty, 0.001), assessment.case.yeast_kind)
        for t in times
    ]
    upper = [(x(t), y(min(b.high, og))) for t, b in zip(times, bands, strict=True)]
    lower = [(x(t), y(max(b.low, low))) for t, b in zip(times, bands, strict=True)]
    drawing.area([*upper, *reversed(lower)])
    middle = [(x(t), y(b.expected)) for t, b in zip(times, bands, strict=True)]
    drawing.line(middle, SOFT, 0.75, "3 2")
    drawing.words(0, 8, "Gravity, SG, with the band expected", bold=True)
    drawing.words(LEFT - 3, TOP + 3, f"{og:.3f}", "end", colour=SOFT)
    end = y(fg.value) + 3
    drawing.words(RIGHT + 4, end, f"{fg.value:.4f}", colour=SOFT)
    if not points:
        return
    drawing.line([(x(0), y(og)), *((x(d), y(g)) for d, g in points)], INK, 1.0)
    for day, gravity in points:
        drawing.dot(x(day), y(gravity), radius=2.0)
    own = y(points[-1][1]) + 3
    if abs(own - end) < 10:
        own = end - 10 if points[-1][1] >= fg.value else end + 10
    drawing.words(RIGHT + 4, own, f"{points[-1][1]:.4f}", bold=True)


def _temperature(drawing: Drawing, assessment: Assessment, x: Scale) -> None:
    units = units_of(assessment)
    planned = units.converted(assessment.case.fermentation_temperature, "temperature")
    read = [
        (p.hours / 24, units.converted(p.temperature, "temperature"))
        for p in assessment.log
        if p.temperature is not None
    ]
    if not read:
        return
    values = [planned, *(t for _, t in read)]
    y = Scale(min(values) - 0.5, max(values) + 0.5, WARM_BOTTOM, WARM_TOP)
    drawing.line([(LEFT, WARM_TOP - 5), (RIGHT, WARM_TOP - 5)], PALE, 0.5)
    drawing.line([(LEFT, y(planned)), (RIGHT, y(planned))], SOFT, 0.75, "3 2")
    drawing.line([(x(day), y(t)) for day, t in read], INK, 1.0)
    for day, t in read:
        drawing.square(x(day), y(t), size=3.2)
    label = f"{planned:.0f}{NARROW}{units.label('temperature')}"
    drawing.words(RIGHT + 4, y(planned) + 3, label, colour=SOFT)


def _words(assessment: Assessment, og: float, fg: float) -> str:
    read = [p for p in assessment.log if p.gravity is not None]
    if not read:
        return "Temperature of the beer against time; no gravity was read."
    units = units_of(assessment)
    warm = [p.temperature for p in assessment.log if p.temperature is not None]
    between = (
        f" The beer was between {units.text(min(warm), 'temperature', 1)} and "
        f"{units.text(max(warm), 'temperature', 1)}." if warm else ""
    )
    return (
        f"Gravity fell from {og:.4f} to {read[-1].gravity:.4f} in {read[-1].hours / 24:.1f} days; "
        f"{fg:.4f} was expected at the end.{between}"
    )
