"""A reading could not be corrected for its temperature, and is not used.

A hydrometer in hot wort reads far too low, and above 60 degrees nobody knows by how much: 1.044
shows as about 1.021 at 75. A hot sample can also break it. What was read is not used, and what was
expected is taken in its place. Nor is a reading used that cannot be converted to the unit of its
figure, or gives no result with the other readings.

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
    """Pass on why readings are not used."""
    notes = [
        (a.reading.position, a.note) for a in batch.actuals.values()
        # Of packed beer no-final-gravity passes it on.
        if a.note and (a.key != "final_gravity" or batch.record.packaging is None)
    ]
    notes += [fault for point in batch.log for fault in point.faults]
    for place, note in notes:
        is_frozen = "sample temperature is −" in note
        remedy = CHECK_NUMBER if is_frozen or "sample temperature" not in note else ""
        yield Remark(place, note, remedy=remedy)
