"""The cellar sheet: a row a day from pitching to packaging, with what to expect of each."""

from __future__ import annotations

import datetime
import math

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.assessment.log import GRAVITY, pitched_at
from reportgen.assessment.readings import uncertainty_at
from reportgen.forecast.actions import SLOW_AFTER, ActionTable, TableNumber
from reportgen.forecast.ferment import starting_gravity
from reportgen.forecast.figures import FIGURES, Stage
from reportgen.record.printed import BLANK, NARROW, Units, inwards
from reportgen.report.cautions import Caution
from reportgen.report.critical import limits_above
from reportgen.report.hazards import cautions_of
from reportgen.report.packaging import WRITE, rating_text
from reportgen.report.parts import (
    Blank,
    Identity,
    Labelled,
    Lookup,
    Raw,
    ReadingRow,
    Todo,
    TodoCell,
)
from reportgen.report.plan_text import (
    dose_text,
    gallon_note,
    identity_of,
    instrument_of,
    name_of,
    offset_words,
    sentence,
    sheet_units,
    shown,
)
from reportgen.report.rows import Counter, fine_range, read_decimals, rows_of
from reportgen.report.sheet import gravity_lookup
from reportgen.report.shown import shown_todo, tables_of
from reportgen.science.fermentation import Band, expected_band
from reportgen.science.method import REFUSED
from reportgen.science.number import nominal

TITLE = "Cellar sheet"
USUAL_DAYS = 10
"""Days given a row when the plan does not say how long; a lager is given twice as many."""

DAILY = 28
"""Days that have a row each; after them the beer lies quiet and has a row a week."""

ON_ONE_SIDE = 10
"""Days that stand on the first side; with more, what follows them goes on below the last."""

MOST_DAYS = 120
NEAR = 0.002
"""Within this of the end, fermentation is as good as over; common practice, no source."""


class DayRow(Struct, frozen=True):
    """One day of the log: what is expected, blanks for gravity and temperature.

    ``offset`` and ``true`` as in a :class:`~reportgen.report.parts.ReadingRow`. ``on`` is its day
    in full, empty before the yeast is in; ``raw`` has the edges of the band, as
    printed.
    """

    title: str
    date: str
    expect: str
    band: str
    todo: str
    offset: str = ""
    true: str = ""
    on: str = ""
    raw: Raw | None = None


class CellarView(Struct, frozen=True):
    """The cellar sheet, ready to be set."""

    identity: Identity
    unit_note: str
    facts: tuple[Labelled, ...]
    cautions: tuple[Caution, ...]
    days: tuple[DayRow, ...]
    runs_on: bool
    gravity_point: int
    temperature_unit: str
    planned_temperature: str
    milestones: tuple[Blank, ...]
    harvest: tuple[Blank, ...]
    additions: tuple[str, ...]
    rows: tuple[ReadingRow, ...]
    todos: tuple[Todo, ...]
    lookups: tuple[Lookup, ...]


def cellar_sheet(assessment: Assessment, paper: str, copy: int = 1) -> CellarView:
    """Return the cellar sheet of a batch."""
    units = sheet_units(assessment)
    plan = assessment.record.plan
    counter = Counter()
    spund = cautions_of(assessment, "spund") if assessment.case.ferment_pressure else ()
    temperature = _degrees(assessment, plan.fermentation.temperature.value, units)
    return CellarView(
        identity=identity_of(assessment, TITLE, paper, copy),
        unit_note=gallon_note(assessment),
        facts=_facts(assessment, units),
        cautions=(
            *cautions_of(assessment, "ferment"), *spund,
            *limits_above(assessment, units, "fermentation"),
        ),
        days=_days(assessment),
        runs_on=len(days_with_a_row(assessment)) > ON_ONE_SIDE,
        gravity_point=read_decimals(assessment, FIGURES["final_gravity"]),
        temperature_unit=units.label("temperature"),
        planned_temperature=temperature,
        milestones=(
            Blank("High kräusen", "reading", place="fermentation.log"),
            Blank("Bubbling stopped", "reading", place="fermentation.log"),
        ),
        harvest=(
            Blank("Harvest", "sample", units.label("jug_volume"), "fermentation.harvest.amount"),
            Blank("day", "sample", place="fermentation.harvest.at"),
            Blank(
                "at", "sample", units.label("temperature"), "fermentation.harvest.stored_at"
            ),
            Blank("viable", "sample", "%", "fermentation.harvest.viability"),
            Blank("count", "sample", "billion/mL", "fermentation.harvest.cells"),
        ),
        additions=_additions(assessment, units),
        rows=rows_of(assessment, [Stage.FERMENT], counter, {}, "fermentation"),
        todos=(_what_to_do(assessment, units), *_computed(assessment, units)),
        lookups=gravity_lookup(assessment, "final_gravity"),
    )


def _degrees(assessment: Assessment, true: float, units: Units) -> str:
    """Return a temperature of the beer as the thermometer at hand shows it."""
    return units.text(shown(assessment, "log_temperature", true), "temperature", 1)


def length_in_days(assessment: Assessment) -> int:
    """Return how many days get a row: those of the plan, else the usual number."""
    time = assessment.record.plan.fermentation.time
    if time is not None:
        return max(1, min(MOST_DAYS, math.ceil(time.value / 1440)))
    return USUAL_DAYS * (2 if assessment.case.yeast_kind == "lager" else 1)


def days_with_a_row(assessment: Assessment) -> tuple[int, ...]:
    """Return the days that have a row: each for four weeks, then every seventh, and the last."""
    length = length_in_days(assessment)
    later = list(range(DAILY + 7, length, 7)) + [length] * (length > DAILY)
    return (*range(1, min(length, DAILY) + 1), *later)


def _course(assessment: Assessment) -> tuple[float, float, float] | None:
    """Return starting gravity as it now stands, final gravity and its ±U.

    None if unknown, or if no band can be computed between them.
    """
    now, expected = assessment.now, assessment.planned.expected.get("final_gravity")
    if expected is None or "original_gravity" not in now:
        return None
    og, fg, spread = nominal(starting_gravity(now)), expected.value, expected.uncertainty
    spread = max(spread, 0.001)
    try:
        expected_band(0.0, og, fg, spread, assessment.case.yeast_kind)
    except REFUSED:
        return None
    return og, fg, spread


def _band(assessment: Assessment, hours: float) -> Band | None:
    """Return where a beer that ferments as forecast may read some hours after pitching.

    Once it is nearly finished the band is never narrower than the OK range of the final gravity:
    a beer that is fine at the end is not out of its band on the way there.
    """
    course = _course(assessment)
    if course is None:
        return None
    og, fg, spread = course
    band = expected_band(hours, og, fg, spread, assessment.case.yeast_kind)
    figure = FIGURES["final_gravity"]
    _, instrument = instrument_of(assessment, figure)
    # The band is of the beer; a reading may err by U on either side of it.
    u = uncertainty_at(instrument, "gravity", band.expected)
    low, high = band.low - u, min(band.high, og) + u
    end = fine_range(assessment, figure)
    if end is not None and band.expected <= fg + NEAR:
        low, high = min(low, end[0]), max(high, end[1])
    return Band(band.expected, low, high)


def _days(assessment: Assessment) -> tuple[DayRow, ...]:
    """Return the rows of the days, each with its band."""
    units = sheet_units(assessment)
    start = pitched_at(assessment.record)
    figure = FIGURES["final_gravity"]
    decimals = read_decimals(assessment, figure)
    offset = offset_words(assessment, GRAVITY.key)
    rows = []
    for day in days_with_a_row(assessment):
        expect, band, true, raw = BLANK, "", "", None
        expected = _band(assessment, day * 24.0)
        if expected is not None:
            expect = f"{shown(assessment, GRAVITY.key, expected.expected):.{decimals}f}"
            true = f"{expected.expected:.{decimals}f}" if offset else ""
            low, high = (
                shown(assessment, GRAVITY.key, edge) for edge in (expected.low, expected.high)
            )
            band = units.range(low, high, figure.kind, decimals)
            low, high = inwards(low, decimals, up=True), inwards(high, decimals)
            raw = Raw(figure.kind, decimals, expected.expected, low, high)
        on = (start + datetime.timedelta(days=day)).strftime("%Y-%m-%d") if start else ""
        rows.append(DayRow(f"Day {day}", on[5:], expect, band, "", offset, true, on, raw))
    return tuple(rows)


def _hour_when(course: tuple[float, float, float], kind: str, gravity: float) -> float:
    """Return the first hour at which the expected curve is at or below a gravity."""
    og, fg, spread = course
    hour = 0.0
    while hour < MOST_DAYS * 24:
        if expected_band(hour, og, fg, spread, kind).expected <= gravity:
            return hour
        hour += 6.0
    return hour


def _facts(assessment: Assessment, units: Units) -> tuple[Labelled, ...]:
    plan = assessment.record.plan
    course = _course(assessment)
    facts = [
        Labelled("Temperature", _degrees(assessment, plan.fermentation.temperature.value, units))
    ]
    warmest = plan.fermentation.highest_temperature
    if warmest is not None:
        facts.append(Labelled("Maximum", _degrees(assessment, warmest.value, units)))
    if plan.fermentation.pressure is not None:
        valve = units.text(plan.fermentation.pressure.value, "pressure", 2)
        rated = rating_text(assessment.case.fermenter, units)
        facts.append(Labelled("Valve set to", valve))
        facts.append(
            Labelled("Rating", rated) if rated else Labelled("Rating on plate", WRITE)
        )
    if course is not None:
        og, fg, _ = course
        kind = assessment.case.yeast_kind
        half = _hour_when(course, kind, (og + fg) / 2) / 24
        over = _hour_when(course, kind, fg + NEAR) / 24
        days = f"day {max(1, round(half))}, day {max(1, round(over))}"
        facts.append(Labelled("Half, nearly done", days))
    start = pitched_at(assessment.record)
    facts += [Labelled("Pitched", start.strftime("%m-%d") if start else ""), Labelled("Brewer", "")]
    return tuple(facts)


def _additions(assessment: Assessment, units: Units) -> tuple[str, ...]:
    plan, stock = assessment.record.plan, assessment.stock
    lines = [
        f"Day {hop.on_day.value / 1440:.0f}: "
        f"{dose_text(hop.amount, units)} {name_of(stock.hops, hop.hop)}, dry"
        for hop in plan.fermentation.dry_hops
    ]
    lines += [
        f"Fining: {dose_text(fining.amount, units)} "
        f"{sentence(name_of(stock.finings, fining.fining))}"
        for fining in plan.fermentation.finings
    ]
    lines += [
        f"Sugar: {dose_text(sugar.amount, units, False)} {name_of(stock.sugars, sugar.sugar)}"
        for sugar in plan.sugars
        if sugar.to == "fermenter"
    ]
    return tuple(lines)


def _computed(assessment: Assessment, units: Units) -> tuple[Todo, ...]:
    """Return the tables with the numbers of this beer: slow by the hour, hot by the degree."""
    own = [
        _by_the_band(assessment, table) if table.figure == "final_gravity" else table
        for table in tables_of(assessment, "fermentation")
        if FIGURES[table.figure].stage is Stage.FERMENT
    ]
    return tuple(
        shown_todo(assessment, table, f"T{number}", units) for number, table in enumerate(own, 2)
    )


def _by_the_band(assessment: Assessment, table: ActionTable) -> ActionTable:
    """Return the table of the slow fermentation with the upper edges of this sheet's own bands.

    What a row of a day calls fine, the table must not call slow.
    """
    decimals = read_decimals(assessment, FIGURES["final_gravity"])
    rows = []
    hours_of = SLOW_AFTER[assessment.case.yeast_kind]
    for hours, row in zip(hours_of, table.rows, strict=True):
        band = _band(assessment, float(hours))
        edge = row[1]
        if band is not None:
            read = shown(assessment, GRAVITY.key, band.high)
            high = band.high - (read - inwards(read, decimals))
            edge = TableNumber(high, "gravity", decimals, read=GRAVITY.key)
        rows.append((row[0], edge, *row[2:]))
    return replace(table, rows=tuple(rows))


def _what_to_do(assessment: Assessment, units: Units) -> Todo:
    """Return what to do when fermentation is out of its band; by the hour and degree in T2 and T3.

    Common practice.
    """
    plan = assessment.record.plan
    degree = units.label("temperature")
    warm = shown(assessment, "log_temperature", plan.fermentation.temperature.value)
    planned = units.converted(warm, "temperature")
    width = 3.6 if units.system == "US" else 2.0
    cold = f"{planned - width:.0f}{NARROW}{degree}"
    rows = (
        ("Nothing seen on day 2", "read the gravity; warm by a degree or two; new yeast on day 3"),
        ("Gravity above its band", "as T2 says for the hours since pitching"),
        ("Gravity below its band", "read again; smell and taste; do not seal before steady"),
        ("Warmer than planned", "as T3 says; write down how long it was hot"),
        (f"Colder than {cold}", "warm slowly; rouse; allow more days"),
        ("Steady, but too high", "forced test beside it; rouse; fresh yeast at work; hold"),
    )
    return Todo(
        "T1",
        "Outside the band",
        ("If", "Do"),
        tuple(tuple(TodoCell(text) for text in row) for row in rows),
        "",
        "keep it closed; read again tomorrow",
    )
