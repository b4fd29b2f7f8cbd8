"""A tasting score is outside the scale.

Intensity goes from 0, none, to 8, very strong. A 9 or a 75 belongs to another scale and would spoil
every mean.

Fix: score again from 0 to 8
Source: scale of our own after ISO 4121
Passes:
    brew_day: {date: 2026-03-14}
    tasting: [{date: 2026-04-10, scores: {malty: 4}}]
Fails:
    brew_day: {date: 2026-03-14}
    tasting: [{date: 2026-04-10, scores: {malty: 9}}]
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.TASTING
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look at the scores."""
    for session in batch.record.tasting:
        for attribute, score in session.every_mark:
            if not 0 <= score.value <= 8:
                yield Remark(score.position, f"{attribute}: {score.text}", "0 to 8")
