"""What-to-do tables and lookups, set as text: final answers for this batch and its instruments."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Sequence
from typing import TypeAlias

from reportgen.forecast.actions import ActionTable, Entry, Phrase, TableNumber
from reportgen.record.printed import NARROW, Units, signed
from reportgen.report.parts import Lookup, Todo, TodoCell
from reportgen.science.density import hot_volume, hydrometer_correction
from reportgen.science.method import REFUSED
from reportgen.science.number import nominal

_STEPS = {"metric": (1.0, 2.0, 5.0), "imperial": (1.0, 2.0, 5.0), "US": (2.0, 5.0, 10.0)}
"""Steps of the sample temperature that a lookup may have, in the printed unit."""

_HOT = {
    "metric": (20.0, 60.0, 70.0, 80.0, 90.0, 97.0),
    "imperial": (20.0, 60.0, 70.0, 80.0, 90.0, 97.0),
    "US": (68.0, 140.0, 160.0, 180.0, 195.0, 207.0),
}


Show: TypeAlias = Callable[[str, float], float]
"""What the instrument of a figure (its key) shows where a value is true, in the base unit."""


SAMPLES = 6
"""Temperatures of the sample in a hydrometer's lookup."""

WHOLE = 0.04
"""A temperature this near to whole degrees has no decimal in a table."""


def true_value(_: str, value: float) -> float:
    """Return what instruments show that show what is true."""
    return value


def cell_text(cell: Entry, units: Units, show: Show = true_value) -> str:
    """Return a cell of a what-to-do table as it is printed: as its instrument shows it."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Phrase):
        return cell.words.format(*(cell_text(number, units, show) for number in cell.numbers))
    value = show(cell.read, cell.value) if cell.read else cell.value
    decimals = cell.decimals
    printed = units.converted(value, cell.kind)
    if cell.kind == "temperature" and abs(printed - round(printed)) < WHOLE:
        decimals = 0
    text = units.text(value, cell.kind, decimals)
    return signed(text) if cell.signed else text


def figures_read(table: ActionTable) -> tuple[str, ...]:
    """Return the figures whose readings stand in a table, each once."""
    figures: dict[str, None] = {}
    for entry in (*table.columns, *(cell for row in table.rows for cell in row), table.note):
        numbers = entry.numbers if isinstance(entry, Phrase) else (entry,)
        figures.update({n.read: None for n in numbers if isinstance(n, TableNumber) and n.read})
    return tuple(figures)


ACROSS = ("malt_temperature", "pressure")
"""Figures whose table is two numbers per row, many of them: the rows stand side by side."""


def todo_of(
    table: ActionTable, mark: str, units: Units, show: Show = true_value, offsets: str = ""
) -> Todo:
    """Return a what-to-do table as text; words that repeat downwards are said once.

    ``show`` says what the instruments show, ``offsets`` which of them show too much.
    """
    texts = [[cell_text(cell, units, show) for cell in row] for row in table.rows]
    rows = []
    for number, row in enumerate(texts):
        cells = []
        for column, text in enumerate(row):
            words = isinstance(table.rows[number][column], (str, Phrase)) and text != ""
            if words and number and texts[number - 1][column] == text:
                continue
            run = 1
            while words and number + run < len(texts) and texts[number + run][column] == text:
                run += 1
            cells.append(TodoCell(text, run))
        rows.append(tuple(cells))
    columns = tuple(cell_text(column, units, show) for column in table.columns)
    note = cell_text(table.note, units, show)
    if offsets:
        note = f"{note} Readings as shown: {offsets}.".lstrip()
    return Todo(
        mark, table.title, columns, tuple(rows), note, table.otherwise,
        across=table.figure in ACROSS
        and not any(isinstance(cell, Phrase) for row in table.rows for cell in row),
    )


def marks_of(tables: Sequence[ActionTable], before: int = 0) -> dict[str, str]:
    """Return the mark (T1, T2, …) of the table of each figure, in the order of the tables.

    ``before`` is how many stand before these on the sheet.
    """
    marks: dict[str, str] = {}
    for table in tables:
        if table.figure not in marks:
            marks[table.figure] = f"T{1 + before + len(marks)}"
    return marks


def _celsius(shown: float, system: str) -> float:
    return (shown - 32) * 5 / 9 if system == "US" else shown


def _degrees(shown: float, units: Units) -> str:
    return f"{shown:.0f}{NARROW}{units.label('temperature')}"


def _correction(gravity: float, celsius: float, reference: float) -> float:
    return float(nominal(hydrometer_correction(gravity, celsius, reference))) - gravity


def _step(gravity: float, reference: float, uncertainty: float, system: str) -> float:
    """Return the widest step between columns for which the nearest column is near enough.

    Half a step away from a column the correction differs by less than U/2, so nothing has to be
    read between two columns.
    """
    kelvin = 5 / 9 if system == "US" else 1.0
    allowed = [
        step
        for step in _STEPS[system]
        if abs(
            _correction(gravity, reference + 12 + step * kelvin / 2, reference)
            - _correction(gravity, reference + 12, reference)
        )
        <= max(uncertainty, 0.0002) / 2
    ]
    return max(allowed, default=_STEPS[system][0])


def hydrometer_lookup(
    expected: float, reference: float, uncertainty: float, units: Units, offset: float = 0.0
) -> Lookup:
    """Return what to add to a hydrometer reading, at six temperatures of the sample.

    ``expected`` is the gravity at hand (SG), ``reference`` the hydrometer's own temperature in
    degC, ``uncertainty`` its ±U, which sets how wide the steps may be. The correction is that of
    the science, at this gravity. ``offset`` is what the thermometer of the samples shows too much,
    K.
    """
    step = _step(expected, reference, uncertainty, units.system)
    base = reference * 9 / 5 + 32 if units.system == "US" else reference
    first = round(base / step) * step - step
    rows = []
    for count in range(SAMPLES):
        shown = first + step * count
        added = _correction(expected, _celsius(shown, units.system) - offset, reference)
        rows.append(
            (_degrees(shown, units), signed(units.number(added, "gravity_step", 4)))
        )
    return Lookup("Hydrometer", ("Sample", "Add"), tuple(rows))


def refractometer_lookup(gravity: float, gravity_at: Callable[[float], float]) -> Lookup:
    """Return what a refractometer shows about a gravity (SG), to half a degree Brix.

    ``gravity_at`` gives the gravity of a reading, degrees Brix; it rises with it.
    """
    known = []
    for brix in (n / 2 for n in range(1, 100)):
        # Below what beer can be fermented down to nothing is known.
        with contextlib.suppress(*REFUSED):
            known.append((brix, gravity_at(brix)))
    near = sum(at < gravity for _, at in known)
    rows = [(f"{brix:.1f}", f"{at:.3f}") for brix, at in known[max(0, near - SAMPLES // 2) :]]
    return Lookup("Refractometer", ("Shows, Bx", "Gravity"), tuple(rows[:SAMPLES]))


def volume_lookup(
    fine: tuple[float, float],
    units: Units,
    gauge: Callable[[float], float] = float,
    offset: float = 0.0,
) -> Lookup:
    """Return the range that is fine on a gauge in hot wort; ``fine`` is L at 20 degC.

    ``gauge`` says what the gauge shows for a true volume, ``offset`` what the thermometer shows
    too much, K.
    """
    rows = []
    for shown in _HOT[units.system]:
        grown = float(nominal(hot_volume(1.0, _celsius(shown, units.system) - offset)))
        low, high = (gauge(edge * grown) for edge in fine)
        rows.append((_degrees(shown, units), units.range(low, high, "volume", 1)))
    return Lookup("Gauge, hot", ("Wort", f"OK, {units.label('volume')}"), tuple(rows))
