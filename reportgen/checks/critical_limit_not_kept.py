"""A critical limit of the plan is not clearly kept.

Beyond a critical limit harm is possible. The limit is kept only if the reading is within it by
more than U of the instrument. If the reading is outside, too close or missing, the batch is held
until somebody has judged it and closed the deviation in the review.

Fix: hold the batch; read again or correct the beer, and close the deviation in review
Afterwards: write what was done about the beer, and close the deviation in review
Source: Codex CXC 1-1969, principle 5 and step 10; ILAC-G8:09/2019, 4.2.3
Passes:
    plan: {critical_limits: {mash_temperature: {at_least: 60 C, because: starch}}}
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
Fails:
    plan: {critical_limits: {mash_temperature: {at_least: 66 C, because: starch}}}
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66.1 C}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import as_read, edges_of, value_of

GROUP = Group.DEVIATIONS
SEVERITY = Severity.CRITICAL
UNTIL = Stage.PACK


def check(batch: Assessment) -> Remarks:
    """Look for critical limits not kept whose deviation is not closed."""
    for departure in batch.departures:
        result = departure.result
        if not result.is_critical or not departure.is_open:
            continue
        limit = batch.record.plan.critical_limits[result.figure.key]
        actual = result.actual
        read = "no reading"
        if actual is not None and actual.reading.value is not None:
            read = actual.reading.value.text
            if actual.value is not None and actual.correction:
                read = as_read(actual, value_of(result.figure, actual.value, batch))
        where = actual.reading.position if actual is not None else None
        yield Remark(
            where or limit.position,
            f"{result.figure.title}: {read} does not clearly keep the critical limit "
            f"({limit.because})",
            edges_of(limit),
        )
