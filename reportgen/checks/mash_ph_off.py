"""The mash pH is outside the usual range.

In a band of pH, read in a cooled sample, starch breaks down well and wort runs clear. Below it
the taste turns sharp. Above it run-off is slow, tannin is extracted and the beer keeps less well.
A prediction outside the band is worth acting on before the day; it errs by a tenth or two. Grain that is
only steeped beside malt extract is not judged: nothing in it converts.

Fix: add acid to the mash liquor; read the mash with a checked meter
Afterwards: look for it in the run-off, the clarity and the taste; next time set the acid before the mash
Source: D.E. Briggs et al. 2004, Brewing: Science and Practice, Table 4.9; range 5.2 to 5.6 common
    practice
Passes:
    brew_day: {date: 2026-03-14, mash: {mash_ph: 5.4}}
Fails:
    brew_day: {date: 2026-03-14, mash: {mash_ph: 5.95}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import as_read
from reportgen.checks.when import is_over

GROUP = Group.MASH
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "below 5.0 or above 5.8", Severity.MAJOR: "below 4.7 or above 6.5"}
UNTIL = Stage.MASH
FIGURE = "mash_ph"


def check(batch: Assessment) -> Remarks:
    """Look at the mash pH read, else at the one predicted."""
    result = batch.find("mash_ph")
    if result is None or result.expected is None or batch.brewed.is_steeped:
        return
    read = result.actual is not None and result.actual.value is not None
    value = result.actual.value if read and result.actual else result.expected.value
    assert value is not None
    if 5.2 <= value <= 5.6:
        return
    severity = None
    if value < 5.0 or value > 5.8:
        severity = Severity.MINOR
    if value < 4.7 or value > 6.5:
        severity = Severity.MAJOR
    remedy = ""
    if value < 5.2 and not is_over(batch.record, UNTIL):
        remedy = "take less acid, and add no more of it; read the mash with a checked meter"
    where = result.actual.reading.position if read and result.actual else None
    shown = f"{value:.2f}"
    if read and result.actual is not None:
        shown = as_read(result.actual, shown)
    yield Remark(
        where or batch.record.plan.liquor.position,
        f"mash pH {shown} {'read' if read else 'predicted'}",
        "5.2 to 5.6 in a cooled sample",
        remedy,
        severity,
    )
