"""A tasting score is outside the scale, or not the mean of its marks.

Intensity goes from 0, none, to 8, very strong. A 9 or a 75 belongs to another scale and would spoil
every mean. Where a session has both the mean scores and the marks of each assessor, the scores are
the means of the marks, within half a point.

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

APART = 0.5
"""Points that a mean may be rounded by: common practice, no source."""


def check(batch: Assessment) -> Remarks:
    """Look at the scores."""
    for session in batch.record.tasting:
        for attribute, score in session.every_mark:
            if not 0 <= score.value <= 8:
                yield Remark(score.position, f"{attribute}: {score.text}", "0 to 8")
        if session.scores and len(session.marks) >= max(len(session.assessors), 1):
            means = session.with_members(scores={}).means
            for attribute, score in session.scores.items():
                mean = means.get(attribute)
                if mean is not None and abs(score.value - mean.value) > APART:
                    yield Remark(
                        score.position, f"{attribute}: {score.text}, the mean of the marks is"
                        f" {mean.text}", f"about {mean.text}",
                        "correct the mark or the score; without `scores` the marks count",
                    )  # fmt: skip
