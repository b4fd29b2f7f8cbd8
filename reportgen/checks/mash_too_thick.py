"""The mash is too thick to mix.

Below about 1.8 litres for each kilogram, dry lumps stay in the mash and their extract is lost;
below 1.2 it cannot be stirred at all.

Mend: use more mash liquor
Source: common practice, no source
Passes:
    plan: {liquor: {mash_volume: 20 L}}
Fails:
    plan: {liquor: {mash_volume: 12 L}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity
from reportgen.science.number import nominal

GROUP = Group.KIT
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Look at the thickness of the mash."""
    ratio = nominal(batch.case.mash_liquor / batch.case.grist)
    if ratio < 1.8:
        yield Said(
            batch.record.plan.liquor.mash_volume.position,
            f"{ratio:.2f} L of liquor for each kg of grist",
            "at least 1.8 L/kg, usually 2.3 to 4",
            severity=Severity.MAJOR if ratio < 1.2 else None,
        )
