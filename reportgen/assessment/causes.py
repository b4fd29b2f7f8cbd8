"""What must be written of a deviation grows with its severity; when it counts as closed.

A deviation of the review is a cause. It names the figures and the findings of checks that it shows
in, and is written once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from reportgen.record.finding import Severity
from reportgen.record.model.later import Deviation, Review

SEVERITIES = tuple(s for s in reversed(Severity) if s is not Severity.ERROR)
"""How much a deviation matters, worst first."""

EVERYTHING = (
    "cause", "cause_certainty", "effect", "correction", "corrective_action", "other_batches",
    "disposition", "closed_by", "closed_on",
)  # fmt: skip
"""The fields of a deviation beside what it shows in and what happened, in the order of the form."""

NEEDED: dict[Severity, tuple[str, ...]] = {
    Severity.NOTE: (),
    Severity.MINOR: ("cause",),
    Severity.MAJOR: ("cause", "correction"),
    Severity.CRITICAL: EVERYTHING,
}
"""Fields that a deviation needs by its severity, beside what happened."""


def worst(severities: Iterable[Severity]) -> Severity:
    """Return the worst of some severities; minor for none."""
    return max(severities, default=Severity.MINOR)


def lacking(deviation: Deviation, severity: Severity) -> tuple[str, ...]:
    """Return the fields that are not written yet; ``cause_certainty: unknown`` is a cause, too."""
    return tuple(
        key
        for key in NEEDED[severity]
        if getattr(deviation, key) is None
        and not (key == "cause" and str(deviation.cause_certainty or "") == "unknown")
    )


def is_closed(deviation: Deviation, severity: Severity, review: Review) -> bool:
    """Whether a deviation is closed.

    ``closed_on`` closes it. A note or a minor one is closed too once all that it needs is written,
    a major one when the decision over the batch has been made as well; none that is on hold is.
    """
    if deviation.closed_on is not None:
        return True
    if str(deviation.disposition or "") == "hold" or lacking(deviation, severity):
        return False
    if severity <= Severity.MINOR:
        return True
    decided = review.decided_on is not None and str(review.disposition or "hold") != "hold"
    return severity is Severity.MAJOR and decided


def cause_of(review: Review | None, key: str) -> Deviation | None:
    """Return the deviation of the review that names a figure; None for none."""
    causes = (d for d in (review.deviations if review else ()) if key in shows_in(d))
    return next(causes, None)


def shows_in(deviation: Deviation) -> Iterator[str]:
    """Yield the keys of the figures that a deviation names, each once, the old single one first."""
    named = (*((deviation.figure,) if deviation.figure else ()), *deviation.figures)
    yield from dict.fromkeys(str(key) for key in named)


def name_of(deviation: Deviation) -> str:
    """Return what a deviation is called in a message: its first figure, finding, or what it was."""
    named = (*shows_in(deviation), *(str(f) for f in deviation.findings))
    return named[0] if named else " ".join(str(deviation.what).split()).rstrip(".")
