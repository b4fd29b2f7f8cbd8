"""A figure of a kit does not fit the others, or a container its kind.

The vessels of a kit have similar volumes; losses, evaporation and heater power depend on them. A
figure that is ten times too large or too small, or in another unit, changes the forecast of every
batch on the kit. What follows from it in their records is not listed until it is corrected.

Fix: compare with the vessel or its plate; check the unit and the decimal point
Source: common practice, no source
Passes:
    {}
Fails:
    brewery: {kits: {main: {kettle: {evaporation: 45 L/h}}}}
"""

from collections.abc import Iterator, Sequence

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told
from reportgen.checks.quantities import like
from reportgen.checks.slip_undone import follows
from reportgen.record.finding import Finding
from reportgen.record.load import Archive
from reportgen.record.model.brewery import Container, Kit
from reportgen.record.units import Quantity

GROUP = Group.READINGS
SEVERITY = Severity.MAJOR

EVAPORATION = 0.01, 0.35
"""Of the kettle's volume, in an hour: a large kettle under a lid, and a wide pan."""
POWER = 0.005, 0.6
"""kW a litre of the kettle."""
HEAT_CAPACITY = 0.002, 0.6
"""kJ/K a litre of the tun: plastic or a bag, and a small one of thick steel."""
LEFT_BEHIND = 0.25
"""Share of a vessel that stays in it."""
VESSELS = 0.2, 8.0
"""Volume of the tun, and of the fermenter, in volumes of the kettle."""
SIZES = {"bottle": (0.1, 6.0), "keg": (1.5, 110.0), "cask": (3.0, 520.0)}
"""Litres of a container of a kind."""


def check_house(archive: Archive) -> Remarks:
    """Hold the figures of each kit against one another, and each container against its kind."""
    if archive.brewery is None:
        return
    for name, kit in archive.brewery.kits.items():
        yield from _kit(str(name), kit)
    for name, container in archive.brewery.containers.items():
        yield from _container(str(name), container)


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark, set[Finding]]]:
    """Yield what is said of the batch's kit, with what follows from it in the record."""
    name = str(batch.record.plan.kit)
    yield from follows(batch, findings, told, lambda kit: _kit(name, kit))


def _kit(name: str, kit: Kit) -> Remarks:
    tun, kettle, fermenter = kit.tun, kit.kettle, kit.fermenter
    of_kettle = f"the {kettle.volume.text} of the kettle"
    pairs: list[tuple[str, Quantity | None, Quantity, float, float, str]] = [
        ("mash tun", tun.volume, kettle.volume, *VESSELS, of_kettle),
        ("fermenter", fermenter.volume, kettle.volume, *VESSELS, of_kettle),
        ("heat capacity", tun.heat_capacity, tun.volume, *HEAT_CAPACITY, "its volume"),
        ("dead space", tun.dead_space, tun.volume, 0.0, LEFT_BEHIND, "its volume"),
        ("power", kettle.power, kettle.volume, *POWER, of_kettle),
        ("loss of the kettle", kettle.loss, kettle.volume, 0.0, LEFT_BEHIND, of_kettle),
        ("loss of the fermenter", fermenter.loss, fermenter.volume, 0.0, LEFT_BEHIND, "its volume"),
        ("evaporation", kettle.evaporation, kettle.volume, *EVAPORATION, of_kettle),
    ]
    odd: list[tuple[str, Quantity, Quantity, float, float, str]] = []
    for what, given, beside, low, high, words in pairs:
        # Nought is a loss that nobody has, or a bag's heat capacity.
        if given is None or given.value <= 0 or beside.value <= 0:
            continue
        share = given.value / beside.value
        # Beside a volume that is wrong itself nothing is judged.
        if not low <= share <= high and not any(beside is wrong for _, wrong, *_ in odd):
            odd.append((what, given, beside, low, high, words))
    if sum(beside is kettle.volume for _, _, beside, *_ in odd) > 1:
        # Several things that one volume does not fit: it is the volume.
        of_it = ", ".join(f"{what} {g.text}" for what, g, b, *_ in odd if b is kettle.volume)
        yield Remark(kettle.volume.position, f"{name}: kettle {kettle.volume.text} does not fit {of_it}")
        return
    for what, given, beside, low, high, words in odd:
        yield Remark(
            given.position,
            f"{name}: {what} {given.text} does not fit {words}",
            f"{like(given, low * beside.value)} to {like(given, high * beside.value)}",
        )


def _container(name: str, container: Container) -> Remarks:
    low, high = SIZES[str(container.is_)]
    if container.volume is not None and not low <= container.volume.value <= high:
        yield Remark(
            container.volume.position,
            f"{name}: {container.volume.text} is an unlikely size of a {container.is_}",
            f"{like(container.volume, low)} to {like(container.volume, high)}",
        )
