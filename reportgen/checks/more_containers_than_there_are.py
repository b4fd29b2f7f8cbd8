"""More containers were filled than the brewery has.

brewery.yaml says how many of each there are. If one batch fills more, the count is wrong, the
container is another one, or `number` is out of date. If a plan makes more beer than they hold, it
needs other containers as well.

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

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume

GROUP = Group.PACKAGING
SEVERITY = Severity.NOTE
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Compare the count of a batch with that of the house."""
    packed, plan = batch.record.packaging, batch.record.plan.packaging
    if packed is None:
        yield from _planned(batch)
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


def _planned(batch: Assessment) -> Remarks:
    """Compare the beer planned with what all of the container named hold."""
    named, beer = batch.record.plan.packaging.container, batch.planned.expected.get(
        "packaged_volume"
    )
    own = batch.brewery.containers.get(named) if named is not None else None
    if named is None or own is None or own.number is None or own.volume is None or beer is None:
        return
    holds = own.number.value * own.volume.value
    if beer.value - beer.uncertainty > holds:
        yield Remark(
            named.position, f"{volume(beer.value, batch)} of beer is planned, but all {named} hold "
            f"{volume(holds, batch)}", f"at most {volume(holds, batch)}",
        )  # fmt: skip
