"""Packed beer has no final gravity.

Without it neither the strength nor the safety of sealing is known, and nobody can tell later what
the yeast did.

Fix: read it from a degassed sample of the packed beer
Afterwards: next time: read it before the beer is packed
Source: 27 CFR 25.291 by analogy; common practice
Passes:
    brew_day: {date: 2026-03-14}
    fermentation: {final_gravity: 1.011}
    packaging: {date: 2026-03-24}
Fails:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24}
"""

from reportgen.assessment.log import last_gravity
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.FERMENTATION
SEVERITY = Severity.MAJOR
UNTIL = Stage.PACK


def check(batch: Assessment) -> Remarks:
    """Look for the final gravity of packed beer."""
    if "fermentation" in batch.batch.faulty:
        # What cannot be read there may be just this.
        return
    packed = batch.record.packaging
    actual = batch.actuals.get("final_gravity")
    if packed is not None and (actual is None or actual.value is None):
        last = last_gravity(batch.record)
        read = [(p.gravity, p.gravity_uncertainty) for p in batch.log if p.gravity is not None]
        # What the log ends with is the final gravity where it is steady.
        steady = len(read) > 1 and abs(read[-1][0] - read[-2][0]) <= read[-1][1] + read[-2][1]
        remedy = f"write `final_gravity: {last[1].text}`, as the log ends" if last and steady else ""
        if actual is not None and actual.note:
            message = f"packed without a final gravity: {actual.note}"
            yield Remark(actual.reading.position, message, remedy=remedy)
        else:
            yield Remark(packed.position, "packed without a final gravity", remedy=remedy)
