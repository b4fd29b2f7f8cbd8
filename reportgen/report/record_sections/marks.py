"""The mark of a verdict: a shape, and the words beside it."""

from __future__ import annotations

from typing import NamedTuple

from reportgen.assessment.assess import Result
from reportgen.assessment.verdicts import Verdict
from reportgen.record.values import State

MARKS = {
    Verdict.ON_PLAN: "on",
    Verdict.TOO_CLOSE: "close",
    Verdict.OFF_PLAN: "off",
    Verdict.NOT_RECORDED: "blank",
}
"""Name of the shape that stands beside the words of a verdict."""


class Mark(NamedTuple):
    """A verdict: the shape and the words beside it. No shape where there is no verdict."""

    shape: str
    words: str


def mark_of(result: Result) -> Mark:
    """Return the mark of a figure: its verdict, or why it has none."""
    if result.actual is not None and result.actual.state is State.NOT_DONE:
        return Mark("", "not done")
    if result.verdict is None:
        derived = result.actual is not None and result.actual.derived_from
        return Mark("", "computed" if derived else "")
    return Mark(MARKS[result.verdict], result.verdict.value)
