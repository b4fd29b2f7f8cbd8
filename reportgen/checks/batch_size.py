"""The batch is outside the sizes this is made for.

Kits of 5 to 500 litres are what the losses, heat balances and defaults here are meant for. Outside
that, check each number of the forecast against your own.

Fix: check the unit of the volume
Source: common practice, no source
Passes:
    plan: {fermenter_volume: 40 L}
Fails:
    plan: {fermenter_volume: 4 L, grist: [{malt: pale, amount: 1 kg}], liquor: {mash_liquor: 3 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume

GROUP = Group.RECORD
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Remarks:
    """Look at the volume."""
    planned = batch.case.volume
    if not 5 <= planned <= 500:
        yield Remark(
            batch.record.plan.fermenter_volume.position,
            f"{volume(planned, batch)} into the fermenter",
            f"{volume(5, batch, 0)} to {volume(500, batch, 0)}",
        )
