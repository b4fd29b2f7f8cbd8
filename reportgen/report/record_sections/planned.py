"""What stands as the plan of a figure: what the sheet had there."""

from __future__ import annotations

from reportgen.assessment.assess import Assessment, Result
from reportgen.report.rows import stop_at


def is_stop(result: Result) -> bool:
    """Whether the sheet has a limit at which to stop rather than a number to expect."""
    return result.figure.is_stop and result.limits is not None


def plan_of(assessment: Assessment, result: Result) -> float | None:
    """Return the number that the sheet has for a figure, in its base unit; None for none."""
    if is_stop(result):
        return stop_at(assessment, result.figure)
    return result.expected.value if result.expected is not None else None


def difference_of(assessment: Assessment, result: Result) -> float | None:
    """Return what was read less what the sheet has, in the base unit; None without either."""
    plan = plan_of(assessment, result)
    if plan is None or result.actual is None or result.actual.value is None:
        return None
    return result.actual.value - plan
