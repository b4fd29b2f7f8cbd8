"""A reading off plan is not in the review.

What left the plan by more than the instrument could err should be explained while somebody
remembers. Only minor deviations and worse must be explained. Of the others, such as the
temperature at the end of the mash, one is reported that is off by five times what is allowed. Where
a slip of the digits would bring a reading to what was expected, that is offered. What another reading
contradicts is reported by the check that says so, as heavy as this.

Fix: add it under `review: deviations`, with what happened
Source: 21 CFR 211.100(b), 211.192 by analogy
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.060}}
"""

from reportgen.assessment.departures import Departure
from reportgen.assessment.verdicts import Verdict
from reportgen.checks.base import WRITE, Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.mistyped import likely
from reportgen.checks.quantities import value_of, width_of

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR
ALSO = {
    Severity.MAJOR: "the deviation is major or critical",
    Severity.NOTE: "the deviation is a note, and five times what is allowed",
}

GIVES_WAY = True
"""Where a check says of the reading that it cannot be, that is told alone."""

FAR = 5.0
"""As many times what is allowed is more likely a slip than the day."""


def check(batch: Assessment) -> Remarks:
    """Look for departures that nobody explained."""
    for departure in batch.departures:
        actual = departure.result.actual
        place = actual.reading.position if actual is not None else None
        if departure.review is not None or (place is not None and place.file != batch.batch.file):
            # One of the brew day of the batch whose wort it is belongs into the review there.
            continue
        expected, difference = departure.result.expected, departure.result.difference
        if actual is None or expected is None or difference is None:
            continue
        is_note = departure.severity is Severity.NOTE
        if (is_note and not _is_far(departure)) or _follows(batch, departure):
            continue
        severity = Severity.NOTE if is_note else (
            Severity.MAJOR if departure.severity >= Severity.MAJOR else None
        )
        where = place or batch.record.position
        figure = departure.result.figure
        typed = actual.reading.value
        meant = next(likely(batch, typed), None) if typed is not None else None
        slip = f"did you mean {meant.text}? If it is true, {WRITE}" if meant is not None else ""
        review = batch.record.review
        if severity is Severity.MAJOR and review is not None and review.disposition == "release":
            slip = f"{slip or WRITE}; until that is closed write `disposition: hold`"
        yield Remark(
            where,
            f"{figure.title}{_in(batch, departure)}: "
            f"{width_of(figure, difference, batch, signed=True)}"
            f" from the expected {value_of(figure, expected.value, batch)}",
            "a reading near it" if is_note else "an entry under `review: deviations`",
            slip or (f"compare with the sheet; if it is true, {WRITE}" if is_note else ""),
            severity=severity,
        )


def _in(batch: Assessment, departure: Departure) -> str:
    """Say in which containers, where it is not the first ones."""
    return f" ({batch.packed_as[departure.filling].packed_in})" if departure.filling else ""


def _follows(batch: Assessment, departure: Departure) -> bool:
    """Whether a pressure is off only for a temperature that is off itself, and told.

    It is judged at the temperature read; that of the plan it would be right at.
    """
    packed, result = batch.packed_as[departure.filling], departure.result
    planned, limits, actual = packed.planned.expected.get("pressure"), result.limits, result.actual
    temperature = packed.find("beer_temperature")
    if result.figure.key != "pressure" or temperature is None or planned is None:
        return False
    if temperature.verdict is not Verdict.OFF_PLAN or actual is None or actual.value is None:
        return False
    if limits is None or result.expected is None:
        return False
    there = actual.value - planned.value + result.expected.value
    return limits.low <= there <= limits.high


def _is_far(departure: Departure) -> bool:
    """Whether a figure is off by many times what its limits allow."""
    result = departure.result
    if result.limits is None or result.expected is None or result.difference is None:
        return False
    ends = [end for end in (result.limits.low, result.limits.high) if end is not None]
    actual = result.actual.value if result.actual is not None else None
    if result.figure.relative and actual is not None and actual * FAR < result.expected.value:
        return True
    allowed = max((abs(end - result.expected.value) for end in ends), default=0.0)
    return allowed > 0 and abs(result.difference) > FAR * allowed
