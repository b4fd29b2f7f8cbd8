"""The charts of the batch record: fermentation, runnings, extract, ions."""

from __future__ import annotations

import math
from dataclasses import dataclass

from markupsafe import Markup

from reportgen.assessment.assess import Assessment
from reportgen.assessment.balance import extract_steps
from reportgen.forecast.ferment import starting_gravity
from reportgen.forecast.figures import FIGURES, IONS
from reportgen.forecast.resolve import gravity_of
from reportgen.record.values import Reading, State
from reportgen.report.numbers import MINUS, NARROW, Units
from reportgen.report.plan_text import units_of
from reportgen.report.rows import stop_at
from reportgen.report.svg import INK, PALE, SOFT, WIDTH, Drawing, Scale, nice_ticks
from reportgen.science.fermentation import expected_band
from reportgen.science.method import REFUSED
from reportgen.science.number import nominal

LEFT, RIGHT = 40.0, WIDTH - 104.0
"""Room for the figures of the scale, and for the words at the end of the lines."""


@dataclass(frozen=True)
class Chart:
    """A chart: its title, the drawing, and a sentence below it where one helps."""

    title: str
    svg: Markup
    words: str = ""


def charts(assessment: Assessment) -> tuple[Chart, ...]:
    """Return the charts that this batch has data for.

    One whose curve cannot be computed with this batch's numbers is left out; the checks say why.
    """
    found = []
    for make in (fermentation, runnings, extract, ions):
        try:
            chart = make(assessment)
        except REFUSED:
            continue
        if chart is not None:
            found.append(chart)
    return tuple(found)


def _axis(
    drawing: Drawing, scale: Scale, ticks: list[float], decimals: int, units: str = ""
) -> None:
    for tick in ticks:
        y = scale(tick)
        drawing.line([(LEFT, y), (RIGHT, y)], PALE, 0.5)
        text = f"{tick:.{decimals}f}".replace("-", MINUS)
        drawing.words(LEFT - 4, y + 3, text + units, "end", colour=SOFT)


def fermentation(assessment: Assessment) -> Chart | None:
    """Gravity and temperature against time, with the band expected before any reading."""
    gravities = [p for p in assessment.log if p.gravity is not None]
    temperatures = [p for p in assessment.log if p.temperature is not None]
    now, units = assessment.now, units_of(assessment)
    if not (gravities or temperatures) or "final_gravity" not in now:
        return None
    hours = max(p.hours for p in assessment.log)
    days = max(2, math.ceil(hours / 24))
    og, fg = nominal(starting_gravity(now)), assessment.planned.forecast("final_gravity")
    words = _fermentation_words(assessment, og, fg.value)
    top, middle, bottom = 14.0, 150.0, 232.0
    drawing = Drawing(bottom + 14, words)
    x = Scale(0, days, LEFT, RIGHT)
    low = min([fg.value - fg.uncertainty, *(p.gravity or 9 for p in gravities)])
    ticks = nice_ticks(low - 0.001, og, 4)
    y = Scale(ticks[0], ticks[-1], middle, top)
    drawing.words(LEFT, 8, "Gravity, SG", bold=True)
    _axis(drawing, y, ticks, 3)
    times = [days * 24 * n / 72 for n in range(73)]
    bands = [
        expected_band(t, og, fg.value, max(fg.uncertainty, 0.001), assessment.case.yeast_kind)
        for t in times
    ]
    upper = [(x(t / 24), y(min(b.high, og))) for t, b in zip(times, bands, strict=True)]
    lower = [(x(t / 24), y(max(b.low, ticks[0]))) for t, b in zip(times, bands, strict=True)]
    drawing.area([*upper, *reversed(lower)])
    drawing.line([(x(t / 24), y(b.expected)) for t, b in zip(times, bands, strict=True)],
                 SOFT, 0.75, "3 2")
    points = [(x(0), y(og)), *((x(p.hours / 24), y(p.gravity or og)) for p in gravities)]
    drawing.line(points, INK, 1.0)
    for p, (px, py) in zip(gravities, points[1:], strict=True):
        half = abs(y((p.gravity or 0) + p.gravity_uncertainty) - py)
        if half > 2.8:
            drawing.line([(px, py - half), (px, py + half)], INK, 0.75)
        drawing.dot(px, py)
    last = points[-1]
    end = y(fg.value)
    label = last[1] + 3
    if abs(label - (end + 3)) < 11:
        label = end + 3 - 11
    drawing.words(RIGHT + 5, label, "this batch", bold=True)
    drawing.words(RIGHT + 5, end + 3, "expected, with its band", colour=SOFT)
    _temperature(drawing, assessment, units, x, (middle + 26, bottom))
    _days(drawing, x, days, bottom)
    return Chart("Fermentation", drawing.svg(), words)


def _days(drawing: Drawing, x: Scale, days: int, y: float) -> None:
    step = max(1, round(days / 12))
    for day in range(0, days + 1, step):
        drawing.words(x(day), y + 11, str(day), "middle", colour=SOFT)
    drawing.words(RIGHT + 12, y + 11, "days after pitching", colour=SOFT)


def _temperature(
    drawing: Drawing, assessment: Assessment, units: Units, x: Scale, room: tuple[float, float]
) -> None:
    points = [(p.hours / 24, p.temperature) for p in assessment.log if p.temperature is not None]
    planned = units.converted(assessment.case.fermentation_temperature, "temperature")
    read = [(day, units.converted(t, "temperature")) for day, t in points]
    ticks = nice_ticks(min([planned, *(t for _, t in read)]) - 0.5,
                       max([planned, *(t for _, t in read)]) + 0.5, 2)
    y = Scale(ticks[0], ticks[-1], room[1], room[0])
    drawing.words(LEFT, room[0] - 8, f"Temperature, {units.label('temperature')}", bold=True)
    _axis(drawing, y, ticks, 0)
    drawing.line([(LEFT, y(planned)), (RIGHT, y(planned))], SOFT, 0.75, "3 2")
    drawing.line([(x(day), y(t)) for day, t in read], INK, 1.0)
    for day, t in read:
        drawing.square(x(day), y(t), size=4.4)
    label = y(planned) + 3
    drawing.words(RIGHT + 5, label, "planned", colour=SOFT)
    if read:
        ours = y(read[-1][1]) + 3
        if abs(ours - label) < 11:
            ours = label + (11 if ours >= label else -11)
        drawing.words(RIGHT + 5, ours, "this batch", bold=True)


def _fermentation_words(assessment: Assessment, og: float, fg: float) -> str:
    read = [p for p in assessment.log if p.gravity is not None]
    if not read:
        return "Temperature against time; no gravity was read."
    return (
        f"Gravity fell from {og:.4f} to {read[-1].gravity:.4f} in {read[-1].hours / 24:.1f} days; "
        f"{fg:.4f} was expected at the end."
    )


def _sg(reading: Reading | None) -> float | None:
    if reading is None or reading.state is not State.READ or reading.value is None:
        return None
    return None if reading.value.unit == "Bx" else gravity_of(reading.value)


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
    drawing = Drawing(140, words)
    ticks_x = nice_ticks(0, points[-1][0], 6)
    x = Scale(0, ticks_x[-1], LEFT, RIGHT)
    ticks = nice_ticks(1.0, max(g for _, g in points), 4)
    y = Scale(ticks[0], ticks[-1], 116, 14)
    drawing.words(LEFT, 8, "Gravity of the runnings, SG", bold=True)
    _axis(drawing, y, ticks, 3)
    drawing.line([(LEFT, y(stop)), (RIGHT, y(stop))], INK, 0.75, "1 2")
    drawing.words(RIGHT + 5, y(stop) + 3, f"stop at {stop:.4f}")
    drawing.line([(x(v), y(g)) for v, g in points], INK, 1.0)
    for v, g in points:
        drawing.dot(x(v), y(g))
    drawing.words(x(points[0][0]) + 6, y(points[0][1]) + 3, "this batch", bold=True)
    for tick in ticks_x:
        drawing.words(x(tick), 127, f"{tick:g}", "middle", colour=SOFT)
    drawing.words(LEFT, 137, f"{units.label('volume')} collected", colour=SOFT)
    return Chart("Run-off", drawing.svg(), words)


def extract(assessment: Assessment) -> Chart | None:
    """Where the extract of the grist went, planned and found, as bars."""
    steps = extract_steps(assessment)
    if not steps or all(step.actual is None for step in steps[1:]):
        return None
    units = units_of(assessment)
    words = "; ".join(
        f"{step.title}: {_share(step.actual if step.actual is not None else step.planned)}"
        for step in steps
    )
    pitch, left = 24.0, 128.0
    drawing = Drawing(10 + pitch * len(steps), f"Share of the extract of the grist. {words}.")
    x = Scale(0, 1, left, WIDTH - 150)
    for number, step in enumerate(steps):
        y = 4 + pitch * number
        drawing.words(left - 6, y + 11, step.title, "end")
        if step.actual is not None:
            drawing.box(left, y + 2, x(step.actual) - left, 11, "#9cb8c9", "none")
        drawing.line([(x(step.planned), y), (x(step.planned), y + 15)], INK, 1.25)
        label = _share(step.planned) + " planned"
        if step.actual is not None and step.mass is not None:
            mass = units.text(step.mass, "mass", 2)
            label = f"{_share(step.actual)}, {mass}; {_share(step.planned)} planned"
        drawing.words(x(max(step.planned, step.actual or 0)) + 5, y + 11, label)
    return Chart("Where the extract went", drawing.svg())


def _share(value: float) -> str:
    return f"{value * 100:.1f}{NARROW}%"


def ions(assessment: Assessment) -> Chart | None:
    """Ions from the liquor as drawn to the wort at cast-out, planned and as brewed."""
    keys = [f"cast_out_{ion}" for ion in IONS]
    if any(key not in assessment.planned or key not in assessment.now for key in keys):
        return None
    rows = [
        (
            ion,
            assessment.case.ions[ion],
            nominal(assessment.planned[key]),
            nominal(assessment.now[key]),
        )
        for ion, key in zip(IONS, keys, strict=True)
    ]
    decimals = FIGURES[keys[0]].decimals
    words = "; ".join(
        f"{ion} {start:.{decimals}f} in the liquor, {plan:.{decimals}f} planned, "
        f"{found:.{decimals}f} mg/L in the wort"
        for ion, start, plan, found in rows
    )
    drawing = Drawing(34 + 18 * len(rows), words)
    ticks = nice_ticks(0, max(max(row[1:]) for row in rows), 6)
    x = Scale(0, ticks[-1], 82, RIGHT)
    bottom = 20 + 18 * len(rows)
    for tick in ticks:
        drawing.line([(x(tick), 14), (x(tick), bottom)], PALE, 0.5)
        drawing.words(x(tick), bottom + 11, f"{tick:g}", "middle", colour=SOFT)
    for number, (ion, start, plan, found) in enumerate(rows):
        y = 25 + 18 * number
        drawing.words(76, y + 3, ion.capitalize(), "end")
        drawing.line([(x(start), y), (x(found), y)], INK, 0.75)
        drawing.dot(x(start), y, filled=False)
        drawing.line([(x(plan), y - 6), (x(plan), y + 6)], INK, 1.25)
        drawing.square(x(found), y)
        drawing.words(RIGHT + 5, y + 3, f"{start:.0f} → {found:.0f} (plan {plan:.0f})")
    drawing.dot(88, 5, filled=False)
    drawing.words(95, 8, "liquor as drawn")
    drawing.line([(176, 0), (176, 10)], INK, 1.25)
    drawing.words(182, 8, "plan, at cast-out")
    drawing.square(268, 5)
    drawing.words(275, 8, "computed with the readings, at cast-out")
    return Chart("Ions, mg/L", drawing.svg())
