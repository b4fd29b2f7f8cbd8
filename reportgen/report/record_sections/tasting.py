"""The tastings: scores, the triangle test, remarks."""

from __future__ import annotations

from typing import NamedTuple

from markupsafe import Markup

from reportgen.record.model.flavours import term_words
from reportgen.record.model.later import Session
from reportgen.record.printed import Units
from reportgen.report.markdown import to_html
from reportgen.science.method import REFUSED
from reportgen.science.triangle import triangle_p_value


class Score(NamedTuple):
    """Mean intensity of one attribute, 0 to 8."""

    attribute: str
    value: str


class SessionView(NamedTuple):
    """One tasting."""

    title: str
    tasters: str
    scores: tuple[Score, ...]
    triangle: str
    remarks: Markup


def _meaning(assessors: int, correct: int) -> str:
    try:
        p = float(triangle_p_value(assessors, correct))
    except REFUSED as error:
        return f"not computed: {error}"
    meaning = "the assessors discriminated between them" if p <= 0.05 else "no difference shown"
    return f"p = {p:.3f}, {meaning} at the 5 % level"


def session_view(session: Session, units: Units) -> SessionView:
    """Return one tasting; the triangle test is computed (ISO 4120)."""
    triangle = ""
    if session.triangle is not None:
        test = session.triangle
        assessors, correct = round(test.assessors.value), round(test.correct_responses.value)
        triangle = (
            f"Triangle test against {test.against}: {correct} correct responses of "
            f"{assessors} assessors; {_meaning(assessors, correct)} (ISO 4120)."
        )
    code = f", glass {session.blind_code}" if session.blind_code else ""
    return SessionView(
        f"{session.date}{code}",
        ", ".join(str(t) for t in session.assessors or [mark.by for mark in session.marks]),
        tuple(
            Score(term_words(str(key)), f"{value.value:.1f}{_each(session, key)}")
            for key, value in session.means.items()
        ),
        " ".join(words for words in (_glasses(session, units), triangle) if words),
        to_html("\n\n".join(_remarks(session))),
    )


def _each(session: Session, word: str) -> str:
    """Return what each taster marked."""
    marked = [mark for mark in session.marks if word in mark.scores]
    marks = ", ".join(f"{mark.by} {mark.scores[word].value:g}" for mark in marked)
    return f" ({marks})" if marks else ""


def _glasses(session: Session, units: Units) -> str:
    """Return how warm the beer was served, and who would drink another glass."""
    words = []
    if session.served_at is not None:
        words.append(f"Served at {units.text(session.served_at.value, 'temperature', 0)}.")
    said = [mark for mark in session.marks if mark.another]
    if said:
        yes = [str(mark.by) for mark in said if mark.another == "yes"]
        words.append(f"Another glass: {len(yes)} of {len(said)} ({', '.join(yes) or 'nobody'}).")
    return " ".join(words)


def _remarks(session: Session) -> list[str]:
    said = [session.remarks] if session.remarks else []
    return [*said, *(f"{mark.by}: {mark.remarks}" for mark in session.marks if mark.remarks)]
