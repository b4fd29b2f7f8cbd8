"""How warm the beer was after it had fermented, and under what pressure, as facts of the day.
What gas is still dissolved hangs on both.

While a beer ferments its gas drives out what a warm day loosens and makes up for it. After that,
what a warm beer gave off is gone: bottles and casks want more sugar (common practice, no source).
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from msgspec.structs import replace

from reportgen.assessment.day_fact import DayFact
from reportgen.assessment.log import PRESSURE, TEMPERATURE, in_time
from reportgen.assessment.readings import actual_of_reading
from reportgen.forecast.case import Case
from reportgen.forecast.figures import Stage
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.later import LogEntry
from reportgen.record.values import Reading

ENDED = {"SG": 0.001, "P": 0.25, "Bx": 0.3}
"""How near to the last gravity of the log, by its scale, a beer has all but fermented."""


COLDEST, HOTTEST = -3.0, 50.0
"""degC that a beer may have had, as far as its gas is tabled; another is a slip, and reported."""


def warmest_facts(record: Record, brewery: Brewery) -> list[DayFact]:
    """Return the fact that beer which had fermented was so warm before it was packed."""
    warmest: tuple[float, Reading, datetime.datetime] | None = None
    for reading, at in _temperatures(record):
        read = actual_of_reading(record, TEMPERATURE, reading, brewery, None).value
        if read is not None and COLDEST <= read <= HOTTEST and (
            warmest is None or read > warmest[0]
        ):
            warmest = read, reading, at
    if warmest is None:
        return []
    degrees, reading, at = warmest
    is_logged = any(entry.temperature is not None for entry in _fermented(record))

    def change(case: Case) -> Case:
        # Cold beer in the bottle says nothing of how warm it was before.
        least = degrees if is_logged else case.highest_temperature
        return replace(case, highest_temperature=max(degrees, least))

    title = "Warmest since fermentation"
    return [DayFact("warmest", Stage.FERMENT, title, reading.value, at, True, change)]


def pressure_facts(record: Record, brewery: Brewery) -> list[DayFact]:
    """Return the fact that beer which had fermented stood under so much pressure at last."""
    read = [
        (entry.pressure, entry.at.at, actual.value) for entry in _fermented(record)
        if entry.pressure is not None
        and (actual := actual_of_reading(record, PRESSURE, entry.pressure, brewery, None)).value
        is not None
    ]
    if not read:
        return []
    reading, at, bar = read[-1]

    def change(case: Case) -> Case:
        return replace(case, ferment_pressure=bar or 0.0)

    title = "Pressure in the fermenter"
    return [DayFact("fermenter pressure", Stage.FERMENT, title, reading.value, at, True, change)]


def _temperatures(record: Record) -> Iterator[tuple[Reading, datetime.datetime]]:
    """Yield the temperatures of the beer from the end of fermentation to its sugar."""
    for entry in _fermented(record):
        if entry.temperature is not None:
            yield entry.temperature, entry.at.at
    packed = record.packaging
    if packed is not None and packed.beer_temperature is not None and (
        record.plan.packaging.into != "keg"
    ):
        evening = datetime.datetime.combine(packed.date.date, datetime.time(18))
        yield packed.beer_temperature, evening


def _fermented(record: Record) -> Iterator[LogEntry]:
    """Yield the entries of the log from the one on in which the beer had all but fermented."""
    packed = record.packaging.date.date if record.packaging is not None else None
    if packed is None:
        return
    entries = [entry for entry in in_time(record) if entry.at.at.date() <= packed]
    read = [
        (entry.at.at, value) for entry in entries
        if entry.gravity is not None and (value := entry.gravity.value) is not None
    ]
    finished = record.fermentation.finished if record.fermentation is not None else None
    if read:
        last = read[-1][1]
        since = next(
            at for at, value in read
            if value.unit == last.unit and value.number - last.number <= ENDED.get(last.unit, 0.0)
        )
    elif finished is not None:
        since = datetime.datetime.combine(finished.date, datetime.time())
    else:
        return
    yield from (entry for entry in entries if entry.at.at >= since)
