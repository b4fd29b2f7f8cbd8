"""A reading is beyond anything that a brew can show.

No wort has a gravity of 1.3 and no beer one of 0.97; no mash has a pH of 1.5. Such a number is
not used: the forecast stays as planned.

Fix: compare with the sheet: a digit or the decimal point is in the wrong place
Source: common practice, no source
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.249}}
"""

from reportgen.assessment.corrections import Actual
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import as_read, quantity
from reportgen.forecast.figures import FIGURES
from reportgen.record.finding import Position
from reportgen.record.kinds import KINDS

GROUP = Group.READINGS
SEVERITY = Severity.MAJOR
CONTRADICTS = True
EACH_FILLING = True

BOILING = 105.0
"""Temperatures above this are for a check of their own, degC."""


def check(batch: Assessment) -> Remarks:
    """Hold every reading against the usual bounds of its kind; the log as well."""
    read: list[tuple[Position | None, str, int, float | None, Actual | None]] = [
        (a.reading.position, FIGURES[key].kind, FIGURES[key].decimals, a.value, a)
        for key, a in batch.actuals.items()
        if a.reading.position is not None and not a.derived_from
    ]
    for point in batch.log:
        read.append((point.gravity_position, "gravity", 4, point.gravity, None))
        read.append((point.temperature_position, "temperature", 1, point.temperature, None))
    for where, kind, decimals, value, actual in read:
        low, high = KINDS[kind].usual
        if value is None or low <= value <= high or (kind == "temperature" and value > BOILING):
            continue
        shown = quantity(value, kind, decimals, batch)
        least, most = (quantity(v, kind, min(decimals, 2), batch) for v in (low, high))
        yield Remark(
            where,
            f"{as_read(actual, shown) if actual else shown} cannot be; it is not used",
            f"{least} to {most}",
        )
