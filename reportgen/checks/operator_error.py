"""A cause that only blames is not a cause.

It blames and prevents nothing. Ask what made the mistake easy: the light, the label, the order of
steps, the hurry. `unknown` is an honest answer.

Fix: write what made the mistake easy, or `unknown`
Source: 21 CFR 211.192 practice: root cause
Passes:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short, cause: the dipstick marks are worn}]}
Fails:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short, cause: Operator error}]}
"""

import re

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MAJOR


def check(batch: Assessment) -> Remarks:
    """Look for causes that only blame."""
    if batch.record.review is None:
        return
    blame = re.compile(
        r"^(an? )?(operator|human|brewer'?s?|user|my|our) (error|mistake|fault)[.!]?$", re.I
    )
    for deviation in batch.record.review.deviations:
        if deviation.cause is not None and blame.match(deviation.cause.strip()):
            yield Remark(deviation.cause.position, f"`{deviation.cause}` alone is not a cause")
