"""Gravity rises while the beer ferments.

Yeast only takes extract away. A later reading that is higher than an earlier one by more than both
instruments could err means a reading was swapped, mistyped, taken warm or read with gas in the
sample, unless sugar went into the fermenter between the two.

Mend: compare both readings with the sheet; degas the sample and note its temperature
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

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare each gravity of the log with the one before it."""
    if any(sugar.to == "fermenter" for sugar in batch.case.sugars):
        return
    gravities = [point for point in batch.log if point.gravity is not None]
    for earlier, later in zip(gravities, gravities[1:], strict=False):
        rise = later.gravity - earlier.gravity
        if rise > later.gravity_uncertainty + earlier.gravity_uncertainty:
            yield Said(
                later.gravity_position,
                f"gravity {later.gravity:.3f} is higher than {earlier.gravity:.3f} before it",
                f"at most {earlier.gravity + later.gravity_uncertainty:.3f}",
            )
