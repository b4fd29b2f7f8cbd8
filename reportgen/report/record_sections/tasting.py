"""The tastings: scores, the triangle test, remarks."""

from __future__ import annotations

from typing import NamedTuple

from markupsafe import Markup

from reportgen.record.model.flavours import term_words
from reportgen.record.model.later import Session
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


def session_view(session: Session) -> SessionView:
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
        ", ".join(str(t) for t in session.assessors),
        tuple(
            Score(term_words(str(key)), f"{value.value:.1f}")
            for key, value in session.scores.items()
        ),
        triangle,
        to_html(session.remarks),
    )
