"""The pH of the beer cannot be right.

Beer ends between about 3.8 and 4.8. Above that it keeps badly, and the fermentation or the meter
is at fault. Below, it has soured. If the wort was soured before the yeast went in, or the yeast is
one that sours, the beer is taken as meant to be sour. The first such entry is reported.

Fix: calibrate the meter, read a degassed sample again; a culture that sours has `sours: yes` in stock.yaml
Afterwards: next time: calibrate the meter and read a degassed sample
Source: common practice, no source
Passes:
    fermentation: {log: [{at: 2026-03-20 18:00, ph: 4.3}]}
    brew_day: {date: 2026-03-14}
Fails:
    fermentation: {log: [{at: 2026-03-20 18:00, ph: 5.6}]}
    brew_day: {date: 2026-03-14}
"""

from reportgen.assessment.additions import is_meant_sour
from reportgen.assessment.log import in_time
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.PACKAGING
SEVERITY = Severity.NOTE
UNTIL = Stage.PACK

def check(batch: Assessment) -> Remarks:
    """Look at the pH of the log after four days."""
    if batch.record.fermentation is None:
        return
    is_sour = is_meant_sour(batch.record, batch.stock)
    low = 2.8 if is_sour else 3.6
    odd = [
        (point, entry)
        for point, entry in zip(batch.log, in_time(batch.record), strict=True)
        if point.ph is not None and point.hours > 96 and not low <= point.ph <= 4.9
    ]
    for point, entry in odd[:1]:
        where = entry.ph.position if entry.ph is not None else entry.position
        more = f", and {len(odd) - 1} more entries like it" if len(odd) > 2 else (
            ", and one more entry like it" if len(odd) == 2 else ""
        )
        yield Remark(
            where, f"pH {point.ph:.2f} after {point.hours / 24:.0f} days{more}",
            "2.8 to 4.8, of a beer that is soured" if is_sour else "3.8 to 4.8",
        )
