"""The beer was past its best before it was packed.

A best-before date earlier than the day of packaging is mistyped, often in the year or by swapping
day and month, and may stand so on the label.

Fix: compare the date with the label; reprint the labels if they show it
Source: order of the work
Passes:
    packaging: {date: 2026-03-24, best_before: 2026-09-30}
Fails:
    packaging: {date: 2026-03-24, best_before: 2025-09-30}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Compare the best-before date with the day of packaging."""
    packed = batch.record.packaging
    if packed is None or packed.best_before is None or packed.date is None:
        return
    if packed.best_before.date < packed.date.date:
        yield Remark(
            packed.best_before.position,
            f"best before {packed.best_before}, packed on {packed.date}",
            f"later than {packed.date}",
        )
