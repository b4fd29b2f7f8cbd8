"""From plan to glass: the replay of a batch, and what is off plan because something before it was.

This walks the forecast once for each fact of the day, so it is computed only where a document or a
table shows it, never to check a record.
"""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.assessment.day_fact import DayFact, as_it_would_have_been
from reportgen.assessment.departures import Departure
from reportgen.assessment.replay import Replay, replay
from reportgen.assessment.results import Result
from reportgen.assessment.verdicts import Limits, Verdict, verdict
from reportgen.forecast.book import Forecast
from reportgen.forecast.figures import OUTCOMES


class Explained(Struct, frozen=True):
    """The replay, and what each figure off plan follows from.

    ``follows`` has, by the key of a figure that is off plan, the fact before it that moved its
    forecast so far that the reading is where it is. A figure that is not in it has a cause of its
    own.
    """

    replay: Replay
    follows: Mapping[str, DayFact]

    def root(self, key: str) -> str:
        """Return the figure off plan that a figure follows from in the end; its own key if none."""
        seen = {key}
        while key in self.follows:
            figure = self.follows[key].figure
            if not figure or figure in seen:
                break
            key = figure
            seen.add(key)
        return key


def explain(batch: Assessment) -> Explained:
    """Replay the facts of a batch and say which figures off plan follow from earlier ones.

    A record and its working ask for the same, so the latest answers are kept.
    """
    asked = batch.now, batch.departures
    for before, answer in _latest:
        if all(a is b for a, b in zip(before, asked, strict=True)):
            return answer
    answer = _explained(batch)
    _latest[:] = [*_latest[1 - KEPT :], (asked, answer)]
    return answer


KEPT = 4
"""Answers that are kept: those of few records, which are asked for before workers are forked."""

_latest: list[tuple[tuple[Forecast, tuple[Departure, ...]], Explained]] = []


def _explained(batch: Assessment) -> Explained:
    off = [d.result for d in batch.departures if not d.filling]
    keys = dict.fromkeys((*OUTCOMES, *(result.figure.key for result in off)))
    case = as_it_would_have_been(batch.case, batch.planned)
    steps = replay(case, batch.facts, batch.now.readings, tuple(keys))
    follows = {}
    for result in off:
        fact = _moved_by(result, steps)
        if fact is not None:
            follows[result.figure.key] = fact
    return Explained(steps, follows)


def _moved_by(result: Result, steps: Replay) -> DayFact | None:
    """Return the fact that a figure off plan follows from; None for a cause of its own.

    It follows when it lies within its limits, moved to what was expected just before it was read,
    and most of the way there was made by what happened before. Then the largest step that way is
    what it follows from.
    """
    key, actual, limits = result.figure.key, result.actual, result.limits
    difference = result.difference
    if actual is None or actual.value is None or limits is None or not difference:
        return None
    before = []
    for fact, moved in steps.of(key):
        if fact.figure == key:
            break
        before.append((fact, moved.size))
    shift = sum(size for _, size in before)
    shifted = Limits(limits.low + shift, limits.high + shift, limits.origin)
    off = verdict(actual.value, actual.uncertainty, shifted) is Verdict.OFF_PLAN
    if off or shift * difference <= 0 or abs(shift) < abs(difference) / 2:
        return None
    return max(before, key=lambda pair: pair[1] * (1 if difference > 0 else -1))[0]

