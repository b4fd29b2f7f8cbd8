"""The batch is outside the sizes this is made for.

Kits of 5 to 500 litres are what the losses, heat balances and defaults here are meant for. Outside
that, check each number of the forecast against your own.

Mend: check the unit of the volume
Source: common practice, no source
Passes:
    plan: {volume: 40 L}
Fails:
    plan: {volume: 4 L, grist: [{malt: pale, amount: 1 kg}], liquor: {mash_volume: 3 L}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.checks.quantities import volume
from reportgen.record.finding import Severity

GROUP = Group.KIT
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Said]:
    """Look at the volume."""
    planned = batch.case.volume
    if not 5 <= planned <= 500:
        yield Said(
            batch.record.plan.volume.position,
            f"{volume(planned, batch)} into the fermenter",
            f"{volume(5, batch, 0)} to {volume(500, batch, 0)}",
        )
