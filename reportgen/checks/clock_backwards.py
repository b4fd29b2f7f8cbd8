"""The clock runs backwards over the brew day.

Times on a brew day follow the work: mash, run-off, boil, pitch. A time before the one above it is
mistyped or stands in the wrong line. A day that runs past midnight is understood: only a step back
of less than half a day is a fault.

Mend: compare the times with the sheet
Source: order of the work
Passes:
    brew_day:
      date: 2026-03-14
      mash: {started: 09:10}
      run_off: {started: 10:20}
      boil: {started: 11:50, ended: 12:50}
Fails:
    brew_day:
      date: 2026-03-14
      mash: {started: 09:10}
      run_off: {started: 10:20}
      boil: {started: 12:50, ended: 11:50}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Go through the times of the brew day in order."""
    day = batch.record.brew_day
    if day is None:
        return
    times = [
        day.mash.started if day.mash else None,
        day.run_off.started if day.run_off else None,
        *(running.at for running in (day.run_off.runnings if day.run_off else ())),
        day.boil.started if day.boil else None,
        day.boil.ended if day.boil else None,
        day.pitch.at if day.pitch else None,
    ]
    before = None
    for at in times:
        if at is None:
            continue
        back = before.minutes - at.minutes if before is not None else 0
        if before is not None and 0 < back < 720:
            yield Said(at.position, f"{at} stands after {before}", f"{before} or later")
        before = at
