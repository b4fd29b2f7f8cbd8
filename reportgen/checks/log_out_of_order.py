"""The fermentation log is not in order of time.

Entries stand in the order in which they were read. One that is earlier than the entry above it has
a mistyped day or time, and the curve drawn through the log would double back. Two at the same
minute are sound where they say different things, a gravity and a pressure perhaps; of one quantity
the beer has one value at a time.

Fix: compare the day and time with the cellar sheet
Source: order of time
Passes:
    fermentation:
      log:
        - {at: 2026-03-15 18:00, temperature: 19 C}
        - {at: 2026-03-16 18:00, temperature: 19 C}
Fails:
    fermentation:
      log:
        - {at: 2026-03-16 18:00, temperature: 19 C}
        - {at: 2026-03-15 18:00, temperature: 19 C}
"""

import itertools

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.later import LogEntry

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare each entry with the one above it."""
    if batch.record.fermentation is None:
        return
    for earlier, later in itertools.pairwise(batch.record.fermentation.log):
        if later.at.at < earlier.at.at:
            yield Remark(
                later.at.position, f"{later.at} stands after {earlier.at}", f"after {earlier.at}"
            )
        elif later.at.at == earlier.at.at:
            one, other = _read(earlier), _read(later)
            # The same written twice is said by a check of its own.
            twice = [name for name, text in one.items() if other.get(name, text) != text]
            if twice:
                yield Remark(
                    later.at.position,
                    f"two readings of {' and '.join(twice)} at {later.at}",
                    "one at a time",
                )


def _read(entry: LogEntry) -> dict[str, str]:
    readings = {
        "gravity": entry.gravity, "temperature": entry.temperature, "pH": entry.ph,
        "pressure": entry.pressure,
    }  # fmt: skip
    return {
        name: reading.value.text
        for name, reading in readings.items()
        if reading is not None and reading.value is not None
    }
