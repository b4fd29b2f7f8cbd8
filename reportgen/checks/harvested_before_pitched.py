"""Yeast was harvested before it was pitched.

The harvest of a batch comes after its own pitching. An earlier day is mistyped, or the harvest is
of another batch.

Fix: correct the day of the harvest, or write it into the record it belongs to
Source: order of the work
Passes:
    brew_day: {date: 2026-03-14}
    fermentation: {harvest: {at: 2026-03-22 10:00}}
Fails:
    brew_day: {date: 2026-03-14}
    fermentation: {harvest: {at: 2026-03-12 10:00}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.assessment.log import pitched_at
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.FERMENTATION
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the harvest with the moment of pitching."""
    day, fermentation = batch.record.brew_day, batch.record.fermentation
    pitched = pitched_at(batch.record)
    if day is None or pitched is None or fermentation is None or fermentation.harvest is None:
        return
    at = fermentation.harvest.at
    is_timed = day.pitch is not None and day.pitch.at is not None
    if at.at < pitched if is_timed else at.at.date() < day.date.date:
        when = pitched.strftime("%Y-%m-%d %H:%M") if is_timed else str(day.date)
        yield Remark(at.position, f"harvested on {at}, pitched on {when}", f"after {when}")
