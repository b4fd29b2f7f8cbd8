"""The pH of the beer cannot be right.

Beer ends between about 3.8 and 4.8. Above that it keeps badly and something is wrong with the
fermentation or the meter; below, it has soured.

Mend: calibrate the meter and read a degassed sample again
Source: common practice, no source
Passes:
    fermentation: {log: [{at: 2026-03-20 18:00, ph: 4.3}]}
    brew_day: {date: 2026-03-14}
Fails:
    fermentation: {log: [{at: 2026-03-20 18:00, ph: 5.6}]}
    brew_day: {date: 2026-03-14}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Said]:
    """Look at the pH of the log after four days."""
    if batch.record.fermentation is None:
        return
    for point, entry in zip(batch.log, batch.record.fermentation.log, strict=True):
        if point.ph is not None and point.hours > 96 and not 3.6 <= point.ph <= 4.9:
            where = entry.ph.position if entry.ph is not None else entry.position
            yield Said(where, f"pH {point.ph:.2f} after {point.hours / 24:.0f} days", "3.8 to 4.8")
