"""The replay: where the difference between plan and glass came from, fact by fact.

Let F(0) be the finished beer as forecast from the plan and F(k) the same with the first k facts of
the day. Step k is F(k) - F(k-1). The steps add up to F(n) - F(0) exactly, since each term but two
stands twice with opposite sign. A step at an outcome's own reading is what nothing before it
explains. A reading that overrules an earlier one shows as a step back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.day_fact import DayFact, Moved
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import Case
from reportgen.forecast.figures import FIGURES, OUTCOMES, Stage
from reportgen.forecast.walk import walk
from reportgen.science.number import Number, expanded_uncertainty, nominal


class Replay(Struct, frozen=True):
    """The steps from plan to glass: the facts that moved something, in order.

    ``planned`` and ``brewed`` hold each outcome's two ends.
    """

    planned: Mapping[str, float]
    brewed: Mapping[str, float]
    steps: tuple[DayFact, ...]

    def of(self, key: str) -> tuple[tuple[DayFact, Moved], ...]:
        """Return the facts that moved one outcome, in order."""
        return tuple((fact, fact.moved[key]) for fact in self.steps if key in fact.moved)

    def by_stage(self, key: str) -> tuple[tuple[Stage, float], ...]:
        """Return how much each stage moved one outcome, without its own reading."""
        sums: dict[Stage, float] = {}
        for fact, moved in self.of(key):
            if fact.figure != key:
                sums[fact.stage] = sums.get(fact.stage, 0.0) + moved.size
        return tuple((stage, sums[stage]) for stage in Stage if stage in sums)

    def unexplained(self, key: str) -> Moved | None:
        """Return the step at the outcome's own reading; None while there is none."""
        return next((moved for fact, moved in self.of(key) if fact.figure == key), None)


def replay(
    case: Case, facts: Sequence[DayFact], readings: Mapping[str, Number],
    outcomes: Sequence[str] = OUTCOMES,
) -> Replay:
    """Walk the case once for each fact and return the steps.

    ``case`` is that of the plan, ``readings`` are the corrected numbers by figure. A walk that
    stops short of an outcome leaves that outcome where it was.
    """
    so_far: dict[str, Number] = {}
    book, _ = walk(case, so_far)
    last = _values(book, outcomes, {})
    planned = {key: nominal(value) for key, value in last.items()}
    steps = []
    for fact in facts:
        if fact.change is not None:
            case = fact.change(case)
        if fact.figure:
            so_far[fact.figure] = readings[fact.figure]
        book, _ = walk(case, so_far)
        now = _values(book, outcomes, last)
        moved = {}
        for key, value in now.items():
            before = last.get(key)
            if before is None:
                planned[key] = nominal(value)
                continue
            step = value - before
            if abs(nominal(step)) > _SAME * max(1.0, abs(nominal(value))):
                moved[key] = Moved(
                    key, nominal(before), nominal(value), expanded_uncertainty(step)
                )
        if moved:
            steps.append(replace(fact, moved=moved))
        last = now
    return Replay(planned, {key: nominal(value) for key, value in last.items()}, tuple(steps))


_SAME = 1e-12


def _values(
    book: Forecast, outcomes: Sequence[str], last: Mapping[str, Number]
) -> dict[str, Number]:
    values = {}
    for key in outcomes:
        FIGURES[key]
        if key in book:
            values[key] = book[key]
        elif key in last:
            values[key] = last[key]
    return values


def rounded_steps(start: float, sizes: Sequence[float], decimals: int) -> tuple[float, ...]:
    """Return steps rounded so that they add up to the rounded whole.

    Each is the difference of the rounded running sums.
    """
    steps, exact, printed = [], start, round(start, decimals)
    for size in sizes:
        exact += size
        after = round(exact, decimals)
        steps.append(round(after - printed, decimals))
        printed = after
    return tuple(steps)
