"""The forecast cannot be carried through.

A number of the plan or of a reading lies outside the range in which a formula holds, so nothing
after that stage is computed. Usually it is a slip of the decimal point or of a unit.

Mend: mend the number named, or leave the reading out until it is clear
Source: ranges stated with each method
Passes:
    {}
Fails:
    plan: {liquor: {mash_volume: 4 L}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.KIT
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Iterator[Said]:
    """Pass on what stopped the forecast."""
    for stage, reason in batch.problems:
        yield Said(batch.record.plan.position, f"no forecast from {stage} on: {reason}")
