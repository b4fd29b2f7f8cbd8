"""The mash is too short to convert.

The enzymes need about a quarter of an hour at best, and longer when the mash is cool or the malt
coarse. All rests together are meant here; a single rest of a step mash may be short.

Fix: correct the times of the rests, or mash longer and test with iodine
Afterwards: correct the times of the rests; next time mash longer and test with iodine
Source: common practice, no source; D.E. Briggs et al. 2004, ch. 4, on the time conversion takes
Passes:
    plan: {mash: {rests: [{temperature: 66 C, time: 60 min}, {temperature: 76 C, time: 5 min}]}}
Fails:
    plan: {mash: {rests: [{temperature: 66 C, time: 5 min}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.MASH
SEVERITY = Severity.MINOR
UNTIL = Stage.MASH

SHORTEST = 15.0
"""Minutes of all rests together."""


def check(batch: Assessment) -> Remarks:
    """Add up the rests."""
    rests = batch.record.plan.mash.rests
    total = sum(rest.time.value for rest in rests)
    if rests and total < SHORTEST:
        yield Remark(
            rests[0].time.position,
            f"the mash takes {total:g} min in all",
            f"{SHORTEST:g} min or more",
        )
