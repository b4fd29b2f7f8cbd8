"""From one batch's glass to another's, where both were brewed to the same plan."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.assessment.day_fact import Moved
from reportgen.assessment.explained import explain
from reportgen.assessment.replay import Replay
from reportgen.forecast.figures import OUTCOMES, Stage
from reportgen.history.difference import SECTIONS, shared_sections
from reportgen.report.charts import Chart
from reportgen.report.plan_to_glass import step_chart


class StepDifference(Struct, frozen=True):
    """The steps of the second less those of the first. They add up to the difference in the glass.

    It answers what a chart asks of a replay: the two ends, the sum of each stage, and what nothing
    before the reading of the figure itself explains.
    """

    planned: Mapping[str, float]
    brewed: Mapping[str, float]
    stages: Mapping[str, Mapping[Stage, float]]
    rest: Mapping[str, Moved]

    def by_stage(self, key: str) -> tuple[tuple[Stage, float], ...]:
        """Return how much more each stage moved one outcome in the second."""
        return tuple((stage, size) for stage, size in self.stages[key].items() if size)

    def unexplained(self, key: str) -> Moved | None:
        """Return how much more is not explained in the second; None where neither was read."""
        return self.rest.get(key)


def share_a_plan(a: Assessment, b: Assessment) -> bool:
    """Whether two brewed batches have all in common that moves the forecast."""
    brewed = a.record.brew_day is not None and b.record.brew_day is not None
    same = a.archive.brewery == b.archive.brewery and a.stock == b.stock
    return brewed and same and shared_sections(a, b) == SECTIONS


def step_difference(a: Assessment, b: Assessment) -> StepDifference:
    """Return what explains the difference between two batches of one plan."""
    one, two = explain(a).replay, explain(b).replay
    keys = [k for k in OUTCOMES if all(k in r.planned and k in r.brewed for r in (one, two))]
    stages, rest = {}, {}
    for key in keys:
        first, second = dict(one.by_stage(key)), dict(two.by_stage(key))
        stages[key] = {s: second.get(s, 0.0) - first.get(s, 0.0) for s in Stage}
        # What the two forecasts of one plan differ by, in the liquor of their days.
        start = two.planned[key] - one.planned[key]
        stages[key][Stage.LIQUOR] += start
        left = _size(two, key) - _size(one, key)
        if one.unexplained(key) is not None or two.unexplained(key) is not None:
            rest[key] = Moved(key, 0.0, left, 0.0)
    return StepDifference(
        {key: one.brewed[key] for key in keys}, {key: two.brewed[key] for key in keys},
        stages, rest,
    )  # fmt: skip


def _size(replay: Replay, key: str) -> float:
    change = replay.unexplained(key)
    return 0.0 if change is None else change.size


def difference_chart(a: Assessment, b: Assessment, labels: tuple[str, str]) -> Chart | None:
    """Return the stepped chart from A to B; None where the two do not share a plan."""
    if not share_a_plan(a, b):
        return None
    steps = step_difference(a, b)
    chart = step_chart(b, steps, list(steps.planned), labels)
    if chart is None:
        return None
    return Chart(f"From {labels[0]} to {labels[1]}: what explains the difference", chart.svg)
