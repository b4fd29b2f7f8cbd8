"""How much of the beer went into some of the containers is not written.

Beer that goes into containers of several kinds is parted. What each of them has must be known: for
the gas that its sugar makes, and to see what was lost. Sugar put into each container counts as often
as there are containers. Planned containers that the day does not have were filled and forgotten, or
not filled.

Fix: write `containers` with `container_size`, or `volume`; `containers: 0` for none
Source: conservation of mass
Passes:
    plan: {packaging: {into: keg, also: [{into: bottle, volume: 6 L}]}}
    packaging: {date: 2026-03-24, also: [{into: bottle, containers: 12, container_size: 0.5 L}]}
Fails:
    plan: {packaging: {into: keg, also: [{into: bottle, volume: 6 L}]}}
    packaging: {date: 2026-03-24, also: [{into: bottle, priming_sugar: 36 g}]}
"""

from reportgen.checks import container_of_another_kind
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume
from reportgen.record.model.later import AlsoPacked, Packaging

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "a pressure cannot be computed without it"}


def check(batch: Assessment) -> Remarks:
    """Look for an amount of each kind of container, and for the number of those with own sugar."""
    packed = batch.record.packaging
    if packed is None:
        return
    every: tuple[Packaging | AlsoPacked, ...] = (packed, *packed.also)
    for kind in every:
        if kind.sugar_each is not None and kind.sugar_each.value is not None and not kind.containers:
            yield Remark(
                kind.sugar_each.position, f"{kind.sugar_each.value.text} of sugar in each container, "
                "and how many there were is not written", "`containers`", severity=Severity.MAJOR,
            )  # fmt: skip
    blind = any(_is_blind(kind) for kind in batch.packed_as)
    for other in batch.others_filled:
        filling = other.filling
        if filling is None or filling.amount is not None or filling.is_none:
            continue
        if any(container_of_another_kind.check(other)):
            continue
        if filling.entry is None:
            planned = volume(filling.planned or 0.0, batch)
            yield Remark(
                packed.position, f"{planned} were to go into a {filling.kind}, and nothing is "
                "written of it", f"{filling.kind} under `also`",
            )  # fmt: skip
        elif filling.is_counted_apart or _is_blind(other):
            yield Remark(
                filling.entry.position,
                f"how much beer went into the {filling.kind} is not written",
                "its `containers` and `container_size`, or `volume`",
                severity=Severity.MAJOR if blind else None,
            )


def _is_blind(packed: Assessment) -> bool:
    """Whether the gas in some containers cannot be computed: in how much beer the sugar is."""
    share = packed.brewed.share
    if share is None or not share.is_unknown or packed.record.packaging is None:
        return False
    return "highest_pressure" not in packed.now.expected
