"""What-to-do tables as data: which row goes for a reading, and what its remedy puts in.

The tables are made in :mod:`reportgen.forecast.actions`; this reads them. Paper leaves the choice
of the row to the brewer's eye, which takes the nearest; so does this.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from reportgen.forecast.actions import ActionTable, TableNumber
from reportgen.forecast.book import Forecast
from reportgen.forecast.mash import ROOM
from reportgen.record.model.batch import Record
from reportgen.record.model.stock import Stock
from reportgen.science.number import nominal

Span = tuple[float, float]
"""Readings for which a row goes, in the base unit: above the first, up to the second."""

VOLUMES = ("volume", "jug_volume", "small_volume")
"""Kinds of what a row pours in."""

NOWHERE: Span = (math.inf, -math.inf)
"""The span of a row that is chosen by something else than the reading."""


class Remedy(Struct, frozen=True):
    """What a row puts in: a liquor or an acid by its name in the files, how much, where.

    ``temperature`` is that of a liquor, degC; None for room temperature or an acid.
    """

    what: str
    amount: TableNumber
    to: str
    temperature: float | None = None


ADDED = ("brew_day", "added")
BOIL_ENDED = ("brew_day", "boil", "ended")
PITCHED = ("brew_day", "pitch", "at")
CLOCKS: dict[tuple[str, ...], str] = {BOIL_ENDED: "Heat off", PITCHED: "Yeast in"}
"""Times of the record that a row may move, as the sheet calls them."""


def entry_of(table: ActionTable, number: int) -> tuple[str, ...]:
    """Return the place in the record where what a row of a table does is written.

    Boiling longer is in the time at which the boil ended, waiting in that of the pitching.
    """
    row = table.rows[number]
    amount = row[1] if len(row) > 1 else ""
    if table.written:
        return table.written
    return BOIL_ENDED if isinstance(amount, TableNumber) and amount.kind == "time" else ADDED


def clock_of(table: ActionTable) -> str:
    """Return the time that rows of a table move, as the sheet calls it; empty for none."""
    clocks = (CLOCKS.get(entry_of(table, number), "") for number in range(len(table.rows)))
    return next((name for name in clocks if name), "")


def row_for(table: ActionTable, planned: Forecast, reading: float) -> int | None:
    """Return the number of the row that goes for a reading; None where the table has none."""
    for number, (low, high) in enumerate(spans(table, planned)):
        if low < reading <= high:
            return number
    return None


def spans(table: ActionTable, planned: Forecast) -> tuple[Span, ...]:
    """Return for each row of a table the readings for which it goes, true and at 20 degC.

    A reading more than half a step beyond the last row is not in the table.
    """
    numbers = [row[0].value if isinstance(row[0], TableNumber) else None for row in table.rows]
    if table.figure == "pitch_temperature":
        return _up_to([n for n in numbers if n is not None], nominal(planned[table.figure]))
    if table.figure not in planned:
        return tuple(NOWHERE for _ in numbers)
    aim = nominal(planned[table.figure])
    if table.figure == "cast_out_volume":
        # The table is read hot; a corrected reading is not.
        grown = nominal(planned["cast_out_volume_hot"]) / aim
        numbers = [n / grown if n is not None else None for n in numbers]
    values = sorted(n for n in numbers if n is not None)
    if table.figure == "malt_temperature":
        # It lists the planned value too, so that no row ends at it.
        aim = -math.inf
    nearest_rows = [_nearest(values, n, aim) if n is not None else NOWHERE for n in numbers]
    return tuple(nearest_rows)


def _up_to(numbers: Sequence[float], wanted: float) -> tuple[Span, ...]:
    edges = [wanted, *numbers]
    return (*zip(edges, numbers, strict=False), (TOO_HOT_TO_PITCH, math.inf))


TOO_HOT_TO_PITCH = 40.0
"""Above this no yeast is pitched, degC; as the table says."""


def _nearest(values: Sequence[float], value: float, aim: float) -> Span:
    """Return the readings nearer to a value than to others, on its side of the aim."""
    at = values.index(value)
    step = min((b - a for a, b in zip(values, values[1:], strict=False)), default=0.0)
    low = (values[at - 1] + value) / 2 if at else value - step / 2
    high = (value + values[at + 1]) / 2 if at + 1 < len(values) else value + step / 2
    if value < aim:
        beside_aim = at + 1 == len(values) or values[at + 1] > aim
        return low, aim if beside_aim else high
    return (aim if at == 0 or values[at - 1] < aim else low), high


def remedy(
    table: ActionTable, number: int, boiling: float, record: Record, stock: Stock
) -> Remedy | None:
    """Return what a row of a table puts in; None for a row that adds nothing.

    ``boiling`` is the boiling point of the place, degC. A liquor is the largest of the blend, an
    acid the first of the plan; None too for an acid that the stock does not have.
    """
    row = table.rows[number]
    amount = row[1] if len(row) > 1 else ""
    if not isinstance(amount, TableNumber) or amount.kind not in VOLUMES:
        return None
    if table.figure == "mash_ph":
        acid = _acid(record, stock)
        return Remedy(acid, amount, table.to) if acid else None
    if not table.to or not record.plan.liquor.blend:
        return None
    liquor = str(max(record.plan.liquor.blend, key=lambda part: part.share.value).liquor)
    temperature = None
    if table.figure == "mash_temperature":
        hot = row[2] == "boiling liquor"
        temperature = boiling - 1.0 if hot else ROOM
    return Remedy(liquor, amount, table.to, temperature)


def _acid(record: Record, stock: Stock) -> str:
    if record.plan.liquor.acids:
        return str(record.plan.liquor.acids[0].acid)
    # The table is for lactic acid of this strength where the plan has none.
    for name, acid in stock.acids.items():
        if str(acid.is_) == "lactic" and abs(acid.strength.value - 0.80) < 0.005:
            return name
    return ""
