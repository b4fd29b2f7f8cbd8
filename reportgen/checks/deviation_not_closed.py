"""A deviation or the decision in the review is not written in full.

What must be written grows with the severity. A note needs nothing more than what happened. A minor
deviation needs its cause; `cause_certainty: unknown` counts. A major one also needs the correction: what
was done about the beer. A critical one needs everything: cause and how sure it is, effect,
correction, corrective action, other batches, disposition, who closed it and when. Until then it is
open wherever the batch is shown.

Who closed a deviation or decided over the batch is signed on paper or written; written, it needs
initials and the day, and a decision what was decided.

One cause that shows in several figures is written once: name them all under `figures`.

Fix: fill in what is missing; write `cause_certainty: unknown` for a cause that is not known
Source: 21 CFR 211.192; Codex CXC 1-1969 step 10
Passes:
    brew_day: {date: 2026-03-14}
    review:
      deviations:
        - {figures: [kettle_volume, kettle_gravity], what: short, cause: thick mash}
        - {figure: original_gravity, what: strong, cause_certainty: unknown, correction: blended}
        - {figure: strike_temperature, what: a little hot, severity: note}
Fails:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{figure: kettle_volume, what: short}]}
"""

from reportgen.assessment.causes import NEEDED, lacking, name_of, shows_in
from reportgen.assessment.departures import cause_severity
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.misread import causes_read, is_misread
from reportgen.forecast.figures import FIGURES
from reportgen.record.finding import Position
from reportgen.record.model.later import Deviation
from reportgen.record.values import Day, Initials

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR
ALSO = {Severity.NOTE: "of initials and day one is missing, or what was decided"}


def check(batch: Assessment) -> Remarks:
    """Look for what each deviation lacks."""
    for cause in causes_read(batch):
        severity = cause_severity(batch.departures, cause)
        missing = lacking(cause, severity)
        if missing:
            yield Remark(
                cause.what.position if cause.figure is None else cause.figure.position,
                f"{_title(cause)}: {_words(missing)} not written, {severity} deviation",
                _words(NEEDED[severity]),
            )
        elif _is_half(cause.closed_by, cause.closed_on):
            lacks = "closed_on" if cause.closed_on is None else "closed_by"
            yield _unsigned(cause.position, f"{_title(cause)}: closed", (lacks,))
    review = batch.record.review
    if review is None or is_misread(batch, review):
        return
    if review.decided_by is None and review.decided_on is None:
        return
    parts = ("disposition", "decided_by", "decided_on")
    missing = tuple(key for key in parts if getattr(review, key) is None)
    if missing:
        yield _unsigned(review.position, "decided", missing)


def _is_half(by: Initials | None, on: Day | None) -> bool:
    return (by is None) is not (on is None)


def _unsigned(position: Position | None, done: str, missing: tuple[str, ...]) -> Remark:
    words = _words(missing)
    return Remark(
        position, f"{done}, but {words} not written", words, f"write {words}",
        severity=Severity.NOTE,
    )  # fmt: skip


def _title(cause: Deviation) -> str:
    first = next(shows_in(cause), "")
    return FIGURES[first].title if first in FIGURES else name_of(cause).replace("_", " ")


def _words(keys: tuple[str, ...]) -> str:
    return ", ".join(f"`{key}`" for key in keys)
