"""The final gravity is not below the original.

Fermentation lowers gravity. The two numbers were probably swapped, or one is mistyped.

Fix: compare both with the sheets
Source: fermentation takes extract away
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.011}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.012}}
    fermentation: {final_gravity: 1.030}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import gravity_read

GROUP = Group.FERMENTATION
SEVERITY = Severity.MAJOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare original and final gravity."""
    start, end = batch.actuals.get("original_gravity"), batch.actuals.get("final_gravity")
    if start is None or end is None or start.value is None or end.value is None:
        return
    if end.value >= start.value:
        yield Remark(
            end.reading.position,
            f"final gravity {gravity_read(end)}, original gravity {start.value:.4f}",
            f"below {start.value:.4f}",
        )
