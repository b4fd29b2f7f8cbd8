"""A method is used outside the range it is trusted in.

The formula still gives a number there, but fewer measurements stand behind it. Take what follows
from it as a hint.

Mend: read more and trust the forecast less; nothing need be mended
Source: ranges stated with each method
Passes:
    {}
Fails:
    plan: {boil: {time: 180 min, hops: [{hop: goldings, amount: 60 g, time: 180 min}]}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.KIT
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Said]:
    """Pass on the extrapolations of the planned walk."""
    told = set()
    for mark in batch.planned.marks:
        # One input met by two methods is one thing to say.
        if (mark.name, mark.value) in told:
            continue
        told.add((mark.name, mark.value))
        yield Said(
            batch.record.plan.position,
            f"{mark.name.replace('_', ' ')} is {mark.value:.4g} {mark.unit} in {mark.method}",
            f"{mark.low:g} to {mark.high:g}",
        )
