"""More containers were filled than the brewery has.

brewery.yaml says how many of each there are. More than that, in one batch, is a miscount, another
container, or a figure that has not kept up with what was bought.

Fix: count the containers again, or correct `number` in brewery.yaml
Source: the record against brewery.yaml
Passes:
    brewery: {containers: {keg_20: {is: keg, number: "3"}}}
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, container: keg_20, containers: "2"}
Fails:
    brewery: {containers: {keg_20: {is: keg, number: "1"}}}
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24, container: keg_20, containers: "2"}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.PACKAGING
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the count of a batch with that of the house."""
    packed, plan = batch.record.packaging, batch.record.plan.packaging
    if packed is None or packed.containers is None:
        return
    name = packed.container or plan.container
    known = batch.brewery.containers.get(name) if name is not None else None
    if known is None or known.number is None or packed.containers.value <= known.number.value:
        return
    yield Remark(
        packed.containers.position,
        f"{packed.containers.value:.0f} of {name} were filled, and there are"
        f" {known.number.value:.0f}",
        f"at most {known.number.value:.0f}",
    )
