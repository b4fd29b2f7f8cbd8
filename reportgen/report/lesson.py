"""A lesson sheet for a class, or for a friend at the kettle: each step of this batch explained."""

from __future__ import annotations

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.report.parts import Identity
from reportgen.report.plan_text import identity_of
from reportgen.report.told_in_steps import Number, numbers_of, teachings_of

TITLE = "Lesson sheet"


class LessonStep(Struct, frozen=True):
    """One step: what it is for, its numbers in this batch, what happens without it, a question."""

    number: str
    title: str
    purpose: str
    without: str
    question: str
    numbers: tuple[Number, ...]


class LessonView(Struct, frozen=True):
    """The lesson sheet, ready to be set."""

    identity: Identity
    beer: str
    is_brewed: bool
    steps: tuple[LessonStep, ...]


def lesson(assessment: Assessment, paper: str, copy: int) -> LessonView:
    """Return the lesson sheet of a batch."""
    return LessonView(
        identity=identity_of(assessment, TITLE, paper, copy),
        beer=str(assessment.record.plan.beer or ""),
        is_brewed=assessment.record.brew_day is not None,
        steps=tuple(
            LessonStep(
                str(number), t.title, t.purpose, t.without, t.question,
                tuple(numbers_of(assessment, t.figures)),
            )
            for number, t in enumerate(teachings_of(assessment), 1)
        ),
    )  # fmt: skip
