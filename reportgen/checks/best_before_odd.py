"""The best-before date lies before packaging, or ten years after it.

Either is mistyped, often in the year or by swapping day and month, and may stand so on the label.
No label promises ten years; what is laid down longer has no such date; in the EU it needs none from 10 % vol on.

Fix: compare the date with the label; reprint the labels if they show it
Source: order of the work; ten years: common practice; no date from 10 % vol: Regulation (EU) 1169/2011, Annex X (from memory)
Passes:
    packaging: {date: 2026-03-24, best_before: 2026-09-30}
Fails:
    packaging: {date: 2026-03-24, best_before: 2025-09-30}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR
EACH_FILLING = True
MOST_DAYS = 3650


def check(batch: Assessment) -> Remarks:
    """Compare the best-before date with the day of packaging."""
    packed = batch.record.packaging
    if packed is None or packed.best_before is None or packed.date is None:
        return
    days = (packed.best_before.date - packed.date.date).days
    if days < 0 or days >= MOST_DAYS:
        yield Remark(
            packed.best_before.position,
            f"best before {packed.best_before}, packed on {packed.date}",
            f"later than {packed.date}, by less than ten years",
        )
