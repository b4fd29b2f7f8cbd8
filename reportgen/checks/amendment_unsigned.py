"""A corrected entry does not say when or why.

A correction is trusted when it shows the old value, who changed it, when and why.

Fix: write `amended_on` and `because`
Source: EU GMP chapter 4.9; ALCOA+
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: {read: 1.049, was: 1.094, amended_by: AA, amended_on: 2026-03-15, because: figures swapped}}}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: {read: 1.049, was: 1.094, amended_by: AA}}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.RECORD
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Remarks:
    """Look at corrected readings."""
    for actual in batch.actuals.values():
        reading = actual.reading
        if reading.was is None:
            continue
        # Without amended_by the record is no record: the schema says so.
        pairs = (("amended_on", reading.amended_on), ("because", reading.because))
        lacking = [name for name, value in pairs if value is None]
        if lacking:
            yield Remark(reading.position, f"corrected without {' and '.join(lacking)}")
