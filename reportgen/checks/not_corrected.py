"""A reading could not be corrected for its temperature, or not used.

Outside the range of its correction a reading is used as it was read, and its uncertainty is
larger than stated. A hot sample can also break a hydrometer. A reading that cannot be converted
to the unit of its figure, or gives no result with the other readings, is not used.

Fix: cool the sample and read again
Source: range stated with the method of the correction
Passes:
    brew_day: {date: 2026-03-14, run_off: {kettle_gravity: {read: 1.044, sample: 25 C}}}
Fails:
    brew_day: {date: 2026-03-14, run_off: {kettle_gravity: {read: 1.020, sample: 80 C}}}
"""

from reportgen.checks.base import CHECK_NUMBER, Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.READINGS
SEVERITY = Severity.MINOR
UNTIL = Stage.PACK
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Pass on the corrections that were not made."""
    notes = [(a.reading.position, a.note) for a in batch.actuals.values() if a.note]
    notes += [fault for point in batch.log for fault in point.faults]
    for place, note in notes:
        remedy = "" if note.startswith("not corrected") else CHECK_NUMBER
        yield Remark(place, note, remedy=remedy)
