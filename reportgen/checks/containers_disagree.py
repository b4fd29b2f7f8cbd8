"""Containers times their size is not the volume packed.

The count is what is sold or shared, the volume what was brewed. When they differ by more than a
tenth, one of the three numbers is wrong.

Fix: count again, and correct the number that is wrong
Source: arithmetic
Passes:
    packaging: {date: 2026-03-24, packaged_volume: 38 L, containers: 2, container_size: 19 L}
    brew_day: {date: 2026-03-14}
Fails:
    packaging: {date: 2026-03-24, packaged_volume: 38 L, containers: 3, container_size: 19 L}
    brew_day: {date: 2026-03-14}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.checks.quantities import volume
from reportgen.record.finding import Severity

GROUP = Group.PACKAGING
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare containers and volume."""
    packed = batch.record.packaging
    actual = batch.actuals.get("packaged_volume")
    if packed is None or packed.containers is None or packed.container_size is None:
        return
    if actual is None or actual.value is None:
        return
    filled = packed.containers.value * packed.container_size.value
    if abs(filled - actual.value) > 0.1 * actual.value:
        yield Remark(
            packed.containers.position,
            f"{packed.containers.text} of {packed.container_size.text} are {volume(filled, batch)}",
            f"about {volume(actual.value, batch)}",
        )
