"""A reading off plan is not in the review.

What left the plan by more than the instrument could err should be explained while somebody
remembers. Only minor deviations and worse must be explained.

Fix: add it under `review: deviations`, with what happened
Source: 21 CFR 211.100(b), 211.192 by analogy
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.060}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.checks.quantities import value_of, width_of
from reportgen.record.finding import Severity

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "the deviation is major or critical"}


def check(batch: Assessment) -> Iterator[Remark]:
    """Look for departures that nobody explained."""
    for departure in batch.departures:
        if departure.review is not None or departure.severity == "note" or departure.batch:
            # One of the brew day of the batch whose wort it is belongs into the review there.
            continue
        actual = departure.result.actual
        expected, difference = departure.result.expected, departure.result.difference
        if actual is None or expected is None or difference is None:
            continue
        severity = Severity.MAJOR if departure.severity >= Severity.MAJOR else None
        where = actual.reading.position or batch.record.position
        figure = departure.result.figure
        yield Remark(
            where,
            f"{figure.title}: {width_of(figure, difference, batch, signed=True)}"
            f" from the expected {value_of(figure, expected.value, batch)}",
            "an entry under `review: deviations`",
            severity=severity,
        )
