"""The beer was sealed before its gravity was steady.

Beer that still ferments makes gas in the closed container, and bottles burst. Two readings a day or
more apart that the instrument cannot tell apart show that it is over. Bottles make this critical.
After fruit or sugar in the fermenter it begins again: only what was read since then counts.

Fix: open or vent carefully with eyes shielded, keep cold, and read the gravity
Afterwards: open what is left with eyes shielded, and keep it cold; next time wait for two steady readings
Source: two readings 24 to 48 h apart: common practice; see the method fermentation.steady
Passes:
    brew_day: {date: 2026-03-14}
    fermentation:
      log:
        - {at: 2026-03-20 18:00, gravity: 1.011}
        - {at: 2026-03-22 18:00, gravity: 1.011}
    packaging: {date: 2026-03-22}
Fails:
    brew_day: {date: 2026-03-14}
    fermentation:
      log:
        - {at: 2026-03-17 18:00, gravity: 1.020}
        - {at: 2026-03-18 18:00, gravity: 1.014}
    packaging: {date: 2026-03-18}
"""

import datetime

from reportgen.assessment.additions import entries_of, when
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.record.model.brew_day import Added
from reportgen.science.fermentation import steady

GROUP = Group.PACKAGING
SEVERITY = Severity.MAJOR
ALSO = {Severity.CRITICAL: "in bottles"}
UNTIL = Stage.PACK
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Ask of the log before packaging whether the gravity was steady."""
    packed = batch.record.packaging
    if packed is None or batch.record.plan.packaging.into == "cask":
        return
    # What was left out of a log with an error may be the very reading that is missed.
    if "fermentation" in batch.batch.faulty:
        return
    # Nor is anything known of one that cannot be used, which is told.
    if any(place == p.gravity_position for p in batch.log for place, _ in p.faults):
        return
    sweetened = _last_sugar(batch)
    points = [
        p for p in batch.log
        if p.gravity is not None and p.at.date() <= packed.date.date
        and (sweetened is None or p.at >= sweetened)
    ]
    # By the clock, not since pitching: the brew day may not be written yet, or be unreadable.
    readings = [
        ((p.at - points[0].at).total_seconds() / 3600, p.gravity)
        for p in points
        if p.gravity is not None
    ]
    u = max((p.gravity_uncertainty for p in points), default=0.001)
    if len(readings) >= 2 and steady(readings, u).steady:
        return
    bottled = batch.record.plan.packaging.into == "bottle"
    since = f", since the sugar of {sweetened:%Y-%m-%d %H:%M}" if sweetened is not None else ""
    yield Remark(
        packed.date.position,
        f"packed without two steady readings at least 24 h apart{since}",
        "the last two readings alike within what the instrument can tell",
        severity=Severity.CRITICAL if bottled else None,
    )


def _last_sugar(batch: Assessment) -> datetime.datetime | None:
    """Return when sugar or fruit last went into the fermenter; None where none did, or no time is.
    """
    times = [
        when(entry, batch.record) for entry in entries_of(batch.record)
        if isinstance(entry.entry, Added) and entry.place == "fermenter"
        and str(entry.entry.what) in batch.stock.sugars
    ]
    return max((at for at in times if at is not None), default=None)
