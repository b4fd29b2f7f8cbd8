"""The tasting sheet: one a taster. Intensity scales of our own, free words, a triangle test."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.assess import Assessment
from reportgen.record.model.later import ATTRIBUTES
from reportgen.report.cautions import Caution, above
from reportgen.report.parts import Blank, Identity
from reportgen.report.plan_text import identity_of
from reportgen.science.triangle import triangle_needed

TITLE = "Tasting sheet"
SCALE = 9
"""Boxes of a scale, 0 to 8."""

WORDS = {
    "malty": "bread, biscuit, grain",
    "roasted": "coffee, cocoa, char",
    "caramel": "toffee, dried fruit",
    "hoppy": "flower, citrus, resin, herb",
    "fruity": "pear, apple, banana",
    "sulfury": "struck match, egg",
    "diacetyl": "butter",
    "phenolic": "clove, smoke, plaster",
    "sour": "lemon, vinegar, milk",
    "bitter": "at the back, and after",
    "sweet": "on the tip, at first",
    "astringent": "dry like strong tea",
    "body": "thin to full",
    "carbonation": "flat to lively",
    "oxidised": "wet paper, sherry",
}
"""What each attribute may remind of, in our words."""

PANELS = (6, 9, 12, 15, 18, 24)
"""Numbers of tasters for which the least number of right answers is printed."""


@dataclass(frozen=True)
class Attribute:
    """One attribute and a hint."""

    name: str
    hint: str


@dataclass(frozen=True)
class TastingView:
    """The tasting sheet, ready to be set."""

    identity: Identity
    cautions: tuple[Caution, ...]
    attributes: tuple[Attribute, ...]
    scale: tuple[str, ...]
    blanks: tuple[Blank, ...]
    triangle: bool
    needed: tuple[tuple[str, str], ...]


def tasting_sheet(assessment: Assessment, paper: str, copy: int = 1) -> TastingView:
    """Return the tasting sheet of a batch; with a triangle test where a comparison is planned.

    A comparison is planned when the plan starts from another batch, or a session names one.
    """
    record = assessment.record
    named = [s.triangle.against for s in record.tasting if s.triangle is not None]
    return TastingView(
        identity=identity_of(assessment, TITLE, paper, copy),
        cautions=above("taste"),
        attributes=tuple(Attribute(name, WORDS.get(name, "")) for name in ATTRIBUTES),
        scale=tuple(str(n) for n in range(SCALE)),
        blanks=(Blank("Glass code", "time"), Blank("Taster", "sample"), Blank("Date", "reading")),
        triangle=bool(named or record.plan.like),
        needed=tuple((str(n), str(triangle_needed(n) or "not enough")) for n in PANELS),
    )
