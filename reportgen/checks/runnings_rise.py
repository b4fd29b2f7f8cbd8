"""The runnings get stronger during the sparge.

Rinsing only takes extract away. Runnings that rise by more than the instrument could err were
sampled from a stream that had not settled, read hot, or typed into the wrong row.

Mend: compare with the sheet; cool the sample before reading
Source: washing out cannot concentrate
Passes:
    brew_day:
      date: 2026-03-14
      run_off: {runnings: [{gravity: 1.060}, {gravity: 1.030}]}
Fails:
    brew_day:
      date: 2026-03-14
      run_off: {runnings: [{gravity: 1.030}, {gravity: 1.060}]}
"""

import itertools
from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.forecast.resolve import gravity_of
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare each running with the one before it."""
    day = batch.record.brew_day
    if day is None or day.run_off is None:
        return
    values = [r.gravity.value for r in day.run_off.runnings if r.gravity.value is not None]
    values = [value for value in values if value.unit in ("SG", "P")]
    for earlier, later in itertools.pairwise(values):
        if gravity_of(later) > gravity_of(earlier) + 0.002:
            yield Said(
                later.position, f"{later.text} after {earlier.text}", f"at most {earlier.text}"
            )
