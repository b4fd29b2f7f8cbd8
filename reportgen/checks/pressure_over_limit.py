"""The pressure wanted is above the fermenter's limit.

Vessels burst. The limit in brewery.yaml is copied from the maker's plate; the plate, the relief
valve and local law come first, and no figure here is a permission.

Mend: choose less carbonation or a colder beer, or a vessel rated for it
Source: maker's rating as written in brewery.yaml
Passes:
    plan: {pack: {carbonation: 2.2 vol, temperature: 6 C}}
Fails:
    plan: {pack: {carbonation: 3.2 vol, temperature: 18 C}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.checks.quantities import quantity
from reportgen.record.finding import Severity

GROUP = Group.KIT
SEVERITY = Severity.CRITICAL


def check(batch: Assessment) -> Iterator[Said]:
    """Compare the pressure with the vessel's rating."""
    limit = batch.kit.fermenter.pressure_limit
    pressure = batch.planned.expected.get("pressure")
    if limit is None or pressure is None or pressure.value <= limit.value:
        return
    needed, most = (quantity(v, "pressure", 2, batch) for v in (pressure.value, limit.value))
    yield Said(
        batch.record.plan.pack.carbonation.position,
        f"{needed} would be needed if it were gassed in the fermenter",
        f"at most {most} by the maker's rating",
    )
