"""A deviation in the review is not closed.

A deviation is closed by what happened, its cause and how sure that is, the effect, what was done,
what will change, which other batches, what becomes of this one, who and when. Until then it is open
wherever the batch is shown.

Fix: fill in what is missing; write `unknown` for a cause that is not known
Source: 21 CFR 211.192; Codex CXC 1-1969 step 10
Passes:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short, cause: thick mash, cause_certainty: probable, effect: none tasted, correction: topped up, corrective_action: mash thinner, other_batches: none, disposition: release, closed_by: AA, closed_on: 2026-04-01}]}
Fails:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short}]}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.forecast.figures import FIGURES
from reportgen.record.finding import Severity

GROUP = Group.TOGETHER
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Look for what each deviation lacks."""
    if batch.record.review is None:
        return
    needed = (
        "cause",
        "cause_certainty",
        "effect",
        "correction",
        "corrective_action",
        "other_batches",
        "disposition",
        "closed_by",
        "closed_on",
    )
    for deviation in batch.record.review.deviations:
        lacking = [key for key in needed if getattr(deviation, key) is None]
        if lacking:
            yield Remark(
                deviation.figure.position,
                f"{_title(str(deviation.figure))}: {_words(lacking)} not written",
                ", ".join(needed),
            )


def _title(key: str) -> str:
    return FIGURES[key].title if key in FIGURES else key.replace("_", " ")


def _words(keys: list[str]) -> str:
    return ", ".join(key.replace("_", " ") for key in keys)
