"""The mash does not fit into the tun.

Grist and liquor together need room below the brim, and room to stir. A mash that runs over scalds
hands and loses extract; one that just fits cannot be corrected with hot liquor.

Fix: mash thicker, mash less, or use a larger tun
Source: common practice, no source; volume of grain in the mash 0.67 L/kg
Passes:
    plan: {liquor: {mash_liquor: 20 L}}
Fails:
    plan: {liquor: {mash_liquor: 29.5 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import volume

GROUP = Group.MASH
SEVERITY = Severity.MINOR
ALSO = {Severity.NOTE: "up to 97 % full", Severity.MAJOR: "above the brim"}
UNTIL = Stage.MASH


def check(batch: Assessment) -> Remarks:
    """Compare the mash volume with the tun's."""
    fill = batch.planned.expected.get("tun_fill")
    if fill is None or fill.value <= 0.90:
        return
    severity = Severity.MAJOR if fill.value > 1.0 else None
    if fill.value <= 0.97:
        severity = Severity.NOTE
    yield Remark(
        batch.record.plan.liquor.mash_liquor_at,
        f"the mash fills the tun to {fill.value:.0%}",
        f"at most 90 % of the {volume(batch.case.tun_volume, batch)}",
        severity=severity,
    )
