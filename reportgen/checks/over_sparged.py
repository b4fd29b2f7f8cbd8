"""The runnings get thinner than the cut-off gravity.

The last, thin runnings bring little sugar and more tannin, silicate and lipid, and their pH has
risen. How much it matters is disputed; the threshold is the plan's own. A small beer meets it
first.

Fix: stop at the cut-off gravity and top the kettle up with liquor, or mash thinner
Afterwards: look for astringency in the tasting; next time stop at the cut-off gravity, or mash thinner
Source: stop near SG 1.008: common practice; G.G. Stewart et al. 2011, MBAA Tech. Q. 48(1):9, on how
    little late runnings harm
Passes:
    brew_day: {date: 2026-03-14, run_off: {last_runnings_gravity: 1.010}}
Fails:
    brew_day: {date: 2026-03-14, run_off: {last_runnings_gravity: 1.003}}
"""

from reportgen.assessment.limits import stops_at_gravity
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.RUN_OFF
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "read below 1.0050"}
UNTIL = Stage.RUN_OFF
FIGURE = "last_runnings_gravity"


def check(batch: Assessment) -> Remarks:
    """Compare the last runnings, read or forecast, with the cut-off gravity."""
    result = batch.find("last_runnings_gravity")
    if result is None or result.expected is None or not stops_at_gravity(batch.record):
        return
    stop = batch.case.cut_off_gravity
    actual = result.actual
    if actual is not None and actual.value is not None:
        value, u, where, how = actual.value, actual.uncertainty, actual.reading.position, "read"
    elif batch.record.brew_day is None:
        value, u, how = result.expected.value, 0.0, "forecast"
        where = batch.record.plan.run_off.position
    else:
        return
    # As it is printed: a number that reads the same is not below it.
    if round(value, 4) < round(stop - u, 4):
        yield Remark(
            where,
            f"last runnings {value:.4f} {how}",
            f"not below {stop:.4f}",
            severity=Severity.MINOR if value < 1.005 and how == "read" else None,
        )
