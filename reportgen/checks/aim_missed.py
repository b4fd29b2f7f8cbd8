"""The forecast does not reach what the plan aims at.

The plan states an aim and its amounts lead somewhere else, by more than the forecast could err.
Better to change the plan now than to explain the beer later.

Fix: change the amounts, or the aim
Source: comparison within the combined uncertainty, JCGM 100
Passes:
    plan: {aims: {original_gravity: 1.049}}
Fails:
    plan: {aims: {original_gravity: 1.060}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.checks.quantities import value_of, width_of
from reportgen.forecast.aims import FIGURE_OF
from reportgen.forecast.figures import FIGURES
from reportgen.forecast.resolve import gravity_of
from reportgen.record.finding import Severity

GROUP = Group.RECORD
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare each aim with the forecast."""
    aims = batch.record.plan.aims
    if aims is None:
        return
    for name, key in FIGURE_OF.items():
        aim = getattr(aims, name)
        planned = batch.planned.expected
        expected = planned.get(key)
        if key == "original_gravity":
            # The strength that is aimed at is that of all the extract.
            expected = planned.get("starting_gravity", expected)
        if aim is None or expected is None:
            continue
        wanted = gravity_of(aim) if aim.kind == "gravity" else aim.value
        if abs(expected.value - wanted) > max(expected.uncertainty, aim.step):
            figure = FIGURES[key]
            within = f"±{width_of(figure, max(expected.uncertainty, aim.step), batch)}"
            yield Remark(
                aim.position,
                f"{figure.title}: the forecast is {value_of(figure, expected.value, batch)},"
                f" the aim {value_of(figure, wanted, batch)}",
                f"the aim within {within} of the forecast",
            )
