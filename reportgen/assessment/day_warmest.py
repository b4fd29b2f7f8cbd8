"""How warm the beer was after it had fermented, as a fact: what gas is still dissolved hangs on it.

While a beer ferments its gas drives out what a warm day loosens and makes up for it. After that,
what a warm beer gave off is gone: bottles and casks want more sugar (common practice, no source).
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from msgspec.structs import replace

from reportgen.assessment.day_fact import DayFact
from reportgen.assessment.log import TEMPERATURE, in_time
from reportgen.assessment.readings import actual_of_reading
from reportgen.forecast.case import Case
from reportgen.forecast.figures import Stage
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.later import LogEntry

ENDED = {"SG": 0.001, "P": 0.25, "Bx": 0.3}
"""How near to the last gravity of the log, by its scale, a beer has all but fermented."""


def warmest_facts(record: Record, brewery: Brewery) -> list[DayFact]:
    """Return the fact that beer which had fermented was so warm before it was packed."""
    warmest: tuple[float, LogEntry] | None = None
    for entry in _fermented(record):
        if entry.temperature is None:
            continue
        read = actual_of_reading(record, TEMPERATURE, entry.temperature, brewery, None).value
        if read is not None and (warmest is None or read > warmest[0]):
            warmest = read, entry
    if warmest is None:
        return []
    degrees, entry = warmest

    def change(case: Case) -> Case:
        return replace(case, highest_temperature=degrees)

    amount = entry.temperature.value if entry.temperature is not None else None
    title = "Warmest since fermentation"
    return [DayFact("warmest", Stage.FERMENT, title, amount, entry.at.at, True, change)]


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
