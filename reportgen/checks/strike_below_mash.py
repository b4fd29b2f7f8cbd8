"""The strike liquor was colder than the mash.

Cold malt can only cool the liquor. A strike temperature at or below the mash temperature means that
one of the two was misread, mistyped or read at the wrong moment.

Fix: compare both with the sheet
Source: heat flows from hot to cold
Passes:
    brew_day: {date: 2026-03-14, mash: {strike_temperature: 76 C, mash_temperature: 66 C}}
Fails:
    brew_day: {date: 2026-03-14, mash: {strike_temperature: 64 C, mash_temperature: 66 C}}
"""

from reportgen.assessment.verdicts import Verdict
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import temperature

GROUP = Group.MASH
SEVERITY = Severity.MINOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare strike and mash temperature."""
    strike, mash = batch.actuals.get("strike_temperature"), batch.actuals.get("mash_temperature")
    malt = batch.case.malt_temperature
    if strike is None or mash is None or strike.value is None or mash.value is None:
        return
    if strike.value + strike.uncertainty + mash.uncertainty < mash.value and malt < mash.value:
        # Where one of the two is off plan, that is the one to look at.
        verdicts = [batch.result(read.key).verdict for read in (strike, mash)]
        is_mash = verdicts[1] is Verdict.OFF_PLAN and verdicts[0] is not Verdict.OFF_PLAN
        yield Remark(
            (mash if is_mash else strike).reading.position,
            f"strike {temperature(strike.value, batch)}, mash {temperature(mash.value, batch)}",
            f"above {temperature(mash.value, batch)}",
        )
