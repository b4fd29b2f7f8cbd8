"""A corrected entry is what it was, or was corrected too early.

A correction keeps the old value beside the new one. Where both are the same, one of them is wrong.
A correction cannot be older than the brew day either.

Fix: write the value that stood there before under `was`, or correct the day
Source: EU GMP chapter 4.9; ALCOA+
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: {read: 1.049, was: 1.094, amended_by: AA, amended_on: 2026-03-15, because: swapped}}}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: {read: 1.049, was: 1.049, amended_by: AA, amended_on: 2026-03-15, because: swapped}}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.each_value import values_in
from reportgen.record.units import Quantity
from reportgen.record.values import Reading

GROUP = Group.RECORD
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look at every corrected reading of the record."""
    day, packed = batch.record.brew_day, batch.record.packaging
    at_packing = set(values_in(packed, Reading)) if packed is not None else set()
    for reading in values_in(batch.record, Reading):
        value, was, when = reading.value, reading.was, reading.amended_on
        # Another number of decimals is a change: it says how finely it was read.
        if value is not None and was is not None and _written(value) == _written(was):
            yield Remark(was.position, f"corrected from {was.text} to {value.text}", "another value")
        if when is not None and day is not None and when.date < day.date.date:
            yield Remark(when.position, f"corrected on {when}, brewed on {day.date}",
                       f"{day.date} or later")
        elif when is not None and packed is not None and reading in at_packing and (
            when.date < packed.date.date
        ):
            yield Remark(when.position, f"corrected on {when}, packed on {packed.date}",
                       f"{packed.date} or later")


def _written(quantity: Quantity) -> tuple[float, float, str]:
    return round(quantity.value, 9), quantity.step, quantity.unit
