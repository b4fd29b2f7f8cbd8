"""A figure is named by two causes of the review.

A figure is explained once: where two deviations name it, the first one counts, and severity,
closing and the record go by that one alone. Where two causes moved one figure,
the one that moved it more names it, and the other says so in `effect`.

Fix: name the figure in one of them
Source: 21 CFR 211.192 by analogy: what is recorded must be traceable
Passes:
    brew_day: {date: 2026-03-14}
    review:
      deviations:
        - {figures: [kettle_volume, kettle_gravity], what: short, cause: thick mash}
        - {figure: mash_temperature, what: cold, cause: cold malt, effect: also less from the mash}
Fails:
    brew_day: {date: 2026-03-14}
    review:
      deviations:
        - {figures: [kettle_volume, kettle_gravity], what: short, cause: thick mash}
        - {figure: kettle_volume, what: short, cause: a stuck tap}
"""

from reportgen.assessment.causes import shows_in
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for figures that stand under more than one cause."""
    first: dict[str, int | None] = {}
    for cause in batch.record.deviations:
        for key in shows_in(cause):
            if key not in first:
                first[key] = cause.what.position.line if cause.what.position else None
                continue
            named = (word for word in (cause.figure, *cause.figures) if str(word or "") == key)
            word = next(w for w in named if w is not None)
            yield Remark(
                word.position,
                f"`{key}` already stands under the cause in line {first[key]}, which counts",
                "each figure under one cause",
            )
