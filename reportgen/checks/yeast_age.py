"""The yeast was old, or not yet harvested or made, when it was pitched.

Stored yeast loses a few per cent of its viable cells each day in the cold. After about four weeks
it needs a count or a starter; pitched before its harvest it cannot have been.

Fix: count the viable cells, make a starter, or correct the dates
Afterwards: correct the dates if they are wrong; next time count the viable cells or make a starter
Source: see the method yeast.viability for the published spread; four weeks common practice, no
    source
Passes:
    others:
      2026-00: {brew_day: {date: 2026-02-01}, fermentation: {harvest: {at: 2026-02-09 10:00}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00}}
    brew_day: {date: 2026-02-14}
Fails:
    others:
      2026-00: {brew_day: {date: 2025-10-01}, fermentation: {harvest: {at: 2025-10-09 10:00}}}
    plan: {pitch: {yeast: ale, harvested_from: 2026-00}}
    brew_day: {date: 2026-02-14}
"""

from reportgen.assessment.assess import harvest_of
from reportgen.assessment.log import pitched_at
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "pitched before it was harvested or made"}
UNTIL = Stage.PITCH


def check(batch: Assessment) -> Remarks:
    """Compare harvest and brew day."""
    pitch, day = batch.record.plan.pitch, batch.record.brew_day
    lot = batch.stock.yeasts[pitch.yeast].lots.get(pitch.lot) if pitch.lot is not None else None
    made = lot.made if lot is not None else None
    if pitch.lot is not None and day is not None and made is not None and made.date > day.date.date:
        yield Remark(
            pitch.lot.position,
            f"made on {made}, pitched on {day.date}",
            "pitched on the day it was made or later",
            severity=Severity.MAJOR,
        )
    harvest = harvest_of(batch.archive, batch.record)
    if pitch.harvested_from is None or harvest is None or day is None:
        return
    age = (day.date.date - harvest.at.at.date()).days
    harvested, pitched = harvest.at.at, pitched_at(batch.record)
    is_timed = day.pitch is not None and day.pitch.at is not None
    is_early = age < 0 or (is_timed and pitched is not None and harvested > pitched)
    if is_early or age > 28:
        yield Remark(
            pitch.harvested_from.position,
            f"harvested on {harvest.at}, pitched {age} days after",
            "0 to 28 days",
            severity=Severity.MAJOR if is_early else None,
        )
