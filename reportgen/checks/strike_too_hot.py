"""The strike liquor would have to be hotter than is sensible.

Strike liquor near or above the boil means a very thick mash, cold malt or a cold, heavy tun. The
grain that meets it first is scalded, and the rest stays too cold.

Fix: mash thinner, warm the tun first, or heat the mash directly
Source: common practice, no source; science-based strike temperature by heat balance
Passes:
    plan: {liquor: {mash_liquor: 20 L}}
Fails:
    plan: {liquor: {mash_liquor: 9 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import temperature

GROUP = Group.MASH
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "it would boil"}
UNTIL = Stage.MASH


def check(batch: Assessment) -> Remarks:
    """Look at the strike temperature that the plan needs."""
    strike = batch.planned.expected.get("strike_temperature")
    if strike is None or strike.value <= 85.0:
        return
    boiling = batch.case.boiling
    yield Remark(
        batch.record.plan.liquor.mash_liquor_at,
        f"strike liquor of {temperature(strike.value, batch)} is needed",
        f"at most {temperature(85, batch, 0)}; it boils at {temperature(boiling, batch)} here",
        severity=Severity.MAJOR if strike.value >= boiling else None,
    )
