"""The fermentation log is not in order of time.

Entries stand in the order in which they were read. One that is earlier than the entry above it has
a mistyped day or time, and the curve drawn through the log would double back.

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
from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity
from reportgen.record.model.later import LogEntry

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare each entry with the one above it."""
    if batch.record.fermentation is None:
        return
    for earlier, later in itertools.pairwise(batch.record.fermentation.log):
        if later.at.at == earlier.at.at and _read(later) == _read(earlier):
            # The same is written twice, which a check of its own says.
            continue
        if later.at.at <= earlier.at.at:
            yield Remark(
                later.at.position, f"{later.at} stands after {earlier.at}", f"after {earlier.at}"
            )


def _read(entry: LogEntry) -> tuple[str, ...]:
    readings = (entry.gravity, entry.temperature, entry.ph)
    return tuple(r.value.text if r is not None and r.value is not None else "" for r in readings)
