"""The sparge liquor has more acid than its alkalinity takes up.

At a pH of about 4.5 no alkalinity is left. All further acid stays as acid and sours the wort. The
dose may be for another volume, another strength of acid or harder liquor.

Fix: use less acid, at most what takes up the alkalinity, and read the pH before the sparge
Source: end point of the titration of alkalinity, pH 4.3 to 4.5; sparge liquor of pH 5.2 to 6 is
    common practice, no source
Passes:
    plan: {liquor: {acids: [{acid: lactic_80, amount: 2 mL, to: sparge}]}}
Fails:
    plan: {liquor: {acids: [{acid: lactic_80, amount: 20 mL, to: sparge}]}}
"""

from reportgen.checks.alkalinity_missing import is_missing
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import as_read

GROUP = Group.RUN_OFF
SEVERITY = Severity.MINOR
UNTIL = Stage.RUN_OFF
FIGURE = "sparge_ph"

LOWEST = 4.5


def check(batch: Assessment) -> Remarks:
    """Look at the pH of the sparge liquor, as read or else as planned."""
    read = batch.actuals.get("sparge_ph")
    if read is not None and read.value is not None:
        if read.value + read.uncertainty < LOWEST:
            where, shown = read.reading.position, as_read(read, f"{read.value:.2f}")
            yield Remark(where, f"sparge liquor was read at pH {shown}", f"at least {LOWEST}")
        return
    planned = batch.planned.expected.get("sparge_ph")
    if any(is_missing(batch.brewery.liquors[p.liquor]) for p in batch.record.plan.liquor.blend):
        return
    if planned is not None and planned.value + planned.uncertainty < LOWEST:
        where = batch.record.plan.liquor.position
        yield Remark(
            where, f"sparge liquor is forecast at pH {planned.value:.1f}", f"at least {LOWEST}"
        )
