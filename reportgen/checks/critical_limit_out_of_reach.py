"""The forecast itself does not keep a critical limit of the plan.

A reading keeps a critical limit only where its instrument can tell it from the limit. When the
forecast lies beyond the limit, or nearer to it than the instrument errs, a batch that goes exactly
as planned is put on hold. Better to learn that before the day.

Fix: change the amounts, read with a finer instrument, or move the limit if it is safe to
Source: ILAC-G8:09/2019, 4.2.3; guard bands of JCGM 106
Passes:
    plan: {critical_limits: {mash_temperature: {at_least: 60 C, because: starch}}}
Fails:
    plan: {critical_limits: {mash_temperature: {at_least: 65.9 C, because: starch}}}
"""

from reportgen.assessment.readings import at_hand
from reportgen.assessment.verdicts import Verdict, verdict
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import edges_of, value_of, width_of

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR
UNTIL = Stage.PACK


def check(batch: Assessment) -> Remarks:
    """Judge each forecast that has a critical limit as its own reading would be judged."""
    for result in batch.results:
        figure, limit = result.figure, result.critical
        planned = batch.planned.expected.get(figure.key)
        if limit is None or planned is None or result.actual is not None:
            continue
        _, _, u = at_hand(figure, planned.value, batch.record, batch.brewery)
        if verdict(planned.value, u, limit) is Verdict.ON_PLAN:
            continue
        given = batch.record.plan.critical_limits[figure.key]
        read = f", read to ±{width_of(figure, u, batch)}," if u else ""
        yield Remark(
            given.position,
            f"{figure.title}: the forecast {value_of(figure, planned.value, batch)}{read} does not"
            f" clearly keep the critical limit ({edges_of(given)})",
            f"a forecast within the limit by more than {width_of(figure, u, batch)}"
            if u
            else "a forecast within the limit",
        )
