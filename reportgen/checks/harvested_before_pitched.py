"""Yeast was harvested when there was none of this batch.

The harvest of a batch comes after its own pitching, when the yeast has had half a day to grow, and
before its fermenter is cleaned: within a fortnight of packaging. Another day is mistyped, or the
harvest is of another batch.

Fix: correct the day of the harvest, or write it into the record it belongs to
Source: order of the work; half a day and the fortnight: common practice, no source
Passes:
    brew_day: {date: 2026-03-14}
    fermentation: {harvest: {at: 2026-03-22 10:00}}
Fails:
    brew_day: {date: 2026-03-14}
    fermentation: {harvest: {at: 2026-03-12 10:00}}
"""

import datetime

from reportgen.assessment.log import pitched_at
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.when import is_brewed_last

GROUP = Group.FERMENTATION
SEVERITY = Severity.MAJOR
ALSO = {Severity.MINOR: "long after packaging"}
CONTRADICTS = True

GROWN = datetime.timedelta(hours=12)
CLEANED = datetime.timedelta(days=14)


def check(batch: Assessment) -> Remarks:
    """Compare the harvest with the moment of pitching."""
    day, fermentation = batch.record.brew_day, batch.record.fermentation
    pitched = pitched_at(batch.record)
    if day is None or pitched is None or fermentation is None or fermentation.harvest is None:
        return
    if is_brewed_last(batch.record):
        return
    at, packed = fermentation.harvest.at, batch.record.packaging
    is_timed = day.pitch is not None and day.pitch.at is not None
    if at.at < pitched + GROWN if is_timed else at.at.date() < day.date.date:
        when = pitched.strftime("%Y-%m-%d %H:%M") if is_timed else str(day.date)
        expected = f"{(pitched + GROWN):%Y-%m-%d %H:%M} or later" if is_timed else f"after {when}"
        yield Remark(at.position, f"harvested on {at}, pitched on {when}", expected)
    elif packed is not None and at.at.date() > packed.date.date + CLEANED:
        yield Remark(
            at.position, f"harvested on {at}, packed on {packed.date}",
            f"{packed.date.date + CLEANED} or earlier", severity=Severity.MINOR,
        )
