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
from reportgen.forecast.figures import FIGURE_OF_AIM, FIGURES
from reportgen.forecast.resolve import gravity_of
from reportgen.record.finding import Severity
from reportgen.record.model.plan import Aims
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.RECORD
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare each aim with the forecast."""
    aims = batch.record.plan.aims
    if aims is None:
        return
    for name, key in FIGURE_OF_AIM.items():
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
    yield from _ratio(batch, aims)


def _ratio(batch: Assessment, aims: Aims) -> Iterator[Remark]:
    """Compare the ratio of sulfate to chloride, which is not a figure of its own."""
    aim, planned = aims.sulfate_to_chloride, batch.planned
    needed = ("mash_liquor_sulfate", "mash_liquor_chloride")
    if aim is None or any(key not in planned for key in needed):
        return
    sulfate, chloride = (planned[key] for key in needed)
    if nominal(chloride) <= 0:
        return
    expected = sulfate / chloride
    within = max(expanded_uncertainty(expected), aim.step)
    if abs(nominal(expected) - aim.value) > within:
        yield Remark(
            aim.position,
            f"Sulfate to chloride: the forecast is {nominal(expected):.2g},"
            f" the aim {aim.value:.2g}",
            f"the aim within ±{within:.2g} of the forecast",
        )
