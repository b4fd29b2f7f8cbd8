"""One figure of a batch: expected, limits, actual and the verdict on it."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.corrections import Actual
from reportgen.assessment.limits import critical_limits, limit_centre, limits_of
from reportgen.assessment.readings import METHOD_U, at_hand
from reportgen.assessment.verdicts import Limits, Verdict, met, verdict
from reportgen.forecast.book import Expected
from reportgen.forecast.figures import Figure
from reportgen.forecast.vessels import USUAL, container_of
from reportgen.record.finding import Severity
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.values import State


class Result(Struct, frozen=True):
    """One figure of the batch: expected, limits, actual, verdict.

    All numbers in the base unit of the figure's kind. ``limits`` is None where no verdict is
    given. ``sheet_range`` is the range printed on the sheet, already narrowed by the U of the
    instrument at hand. ``verdict`` is None for a figure that is only computed. ``critical`` is
    the critical limit that the plan sets; ``is_critical`` says that it should be kept by now and
    is not, clearly. ``expected`` is of the plan, save as :func:`reference_of` says.
    """

    figure: Figure
    expected: Expected | None
    limits: Limits | None
    sheet_range: tuple[float, float] | None
    actual: Actual | None
    verdict: Verdict | None
    severity: Severity = Severity.MINOR
    critical: Limits | None = None
    is_critical: bool = False

    @property
    def difference(self) -> float | None:
        """Actual minus expected, or None."""
        if self.expected is None or self.actual is None or self.actual.value is None:
            return None
        return self.actual.value - self.expected.value


def result_of(
    figure: Figure,
    expected: Expected | None,
    actual: Actual | None,
    record: Record,
    brewery: Brewery,
) -> Result:
    if expected is None or (not figure.path and actual is None):
        return Result(figure, expected, None, None, actual, None, figure.severity)
    aimed = limit_centre(figure, expected, record)
    critical = critical_limits(figure, record, brewery)
    limits = limits_of(figure, aimed, record, brewery)
    _, _, u = at_hand(figure, expected.value, record, brewery)
    if actual is not None and actual.number is not None:
        u = actual.uncertainty
    share = METHOD_U.get(figure.kind, 0.0)
    sheet_range = limits.narrowed(u, share) if limits else None
    not_judged = actual is not None and actual.reading.state is State.NOT_DONE
    if actual is not None and actual.derived_from and actual.number is None:
        # Its readings are there and have verdicts of their own.
        not_judged = True
    not_due = actual is None and not _was_due(figure, record)
    judged = None
    if limits is not None and not not_judged and not not_due:
        judged = verdict(actual.value if actual else None, u, limits)
    broken = False
    if critical is not None and not not_due:
        kept = verdict(actual.value if actual else None, u, critical)
        broken = not met(kept, critical)
    if figure.key == "pressure" and _may_burst(actual, record, brewery):
        severity = Severity.CRITICAL
    else:
        severity = Severity.CRITICAL if broken else figure.severity
    return Result(
        figure, expected, limits, sheet_range, actual, judged, severity, critical, broken
    )


def _may_burst(pressure: Actual | None, record: Record, brewery: Brewery) -> bool:
    """Whether a pressure was read that is above the rating of its vessel, or of any of its kind."""
    if pressure is None or pressure.value is None:
        return False
    vessel = container_of(record, brewery)
    most = USUAL[vessel.kind].strongest if vessel.rating is None else vessel.rating
    return pressure.value > most


def with_runnings_below_first_wort(results: tuple[Result, ...]) -> tuple[Result, ...]:
    """Return results in which last runnings stronger than the first wort are not on plan.

    They have no upper limit of their own; but the sum of both U aside, none can be above the wort
    that is rinsed out.
    """
    by_key = {r.figure.key: r.actual for r in results if r.actual and r.actual.value is not None}
    first, last = by_key.get("first_wort_gravity"), by_key.get("last_runnings_gravity")
    if first is None or last is None or first.value is None or last.value is None:
        return results
    if last.value - last.uncertainty <= first.value + first.uncertainty:
        return results
    return tuple(
        replace(r, verdict=Verdict.OFF_PLAN)
        if r.figure.key == "last_runnings_gravity" and r.verdict is not None
        else r
        for r in results
    )


def _was_due(figure: Figure, record: Record) -> bool:
    """Whether a reading should be there by now: its section has been begun and is over."""
    if not figure.path:
        return False
    section = getattr(record, figure.path[0])
    if section is None:
        return False
    if figure.key == "final_gravity":
        return record.packaging is not None
    return not figure.optional
