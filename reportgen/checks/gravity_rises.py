"""Gravity rises while the beer ferments.

Yeast only takes extract away. A reading that is higher than an earlier one or than the original
gravity, by more than both instruments could err, means a reading was swapped, mistyped, taken warm or read with gas in the
sample, unless sugar went into the fermenter between the two.

Fix: compare both readings with the sheet; degas the sample and note its temperature
Afterwards: compare both readings with the sheet; next time degas the sample and note its temperature
Source: conservation of extract
Passes:
    fermentation:
      log:
        - {at: 2026-03-15 18:00, gravity: 1.030}
        - {at: 2026-03-16 18:00, gravity: 1.020}
Fails:
    fermentation:
      log:
        - {at: 2026-03-15 18:00, gravity: 1.020}
        - {at: 2026-03-16 18:00, gravity: 1.030}
"""

import itertools

from reportgen.assessment.log import is_in_order
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.FERMENTATION
SEVERITY = Severity.MAJOR
UNTIL = Stage.FERMENT
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare each gravity of the log with the one before it, the first with the original."""
    if any(sugar.to == "fermenter" for sugar in batch.case.sugars):
        return
    if not is_in_order(entry.at for entry in batch.record.log):  # told of by log-out-of-order
        return
    points = [
        (point.gravity, point.gravity_uncertainty, point.gravity_position)
        for point in batch.log
        if point.gravity is not None
    ]
    original = batch.actuals.get("original_gravity")
    if original is not None and original.value is not None:
        points.insert(0, (original.value, original.uncertainty, None))
    for (before, before_u, _), (after, after_u, where) in itertools.pairwise(points):
        if after - before > before_u + after_u:
            yield Remark(
                where,
                f"gravity {after:.3f} is higher than {before:.3f} before it",
                f"at most {before + after_u:.3f}",
            )
