"""The sparge liquor is hotter than the grain should get.

Above about 78 degrees starch that was left is set free without enzymes to break it down, and tannin
dissolves from the husks. It also scalds.

Mend: sparge at 74 to 77 C
Source: common practice, no source
Passes:
    plan: {run_off: {sparge_temperature: 76 C}}
Fails:
    plan: {run_off: {sparge_temperature: 82 C}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.checks.quantities import temperature
from reportgen.record.finding import Severity

GROUP = Group.WISE
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Said]:
    """Look at the sparge temperature planned and read."""
    planned = batch.record.plan.run_off.sparge_temperature
    day = batch.record.brew_day
    reading = day.run_off.sparge_temperature if day is not None and day.run_off else None
    for liquor in (planned, reading.value if reading is not None else None):
        if liquor is not None and liquor.value > 78:
            yield Said(
                liquor.position,
                f"sparge liquor of {temperature(liquor.value, batch)}",
                f"at most {temperature(78, batch, 0)}",
                severity=Severity.MINOR if liquor.value > 80 else None,
            )
