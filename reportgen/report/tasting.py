"""The tasting sheet: one a taster. The published flavour terms, free words, a triangle test."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reportgen.assessment.assess import Assessment
from reportgen.record.model.flavours import CLASSES, TERMS, term_words
from reportgen.report.cautions import Caution, above
from reportgen.report.parts import Blank, Identity
from reportgen.report.plan_text import identity_of
from reportgen.science.triangle import triangle_needed

TITLE = "Tasting sheet"
SCALE = 9
"""Marks of a scale, 0 to 8."""

LEFT_CLASSES = 7
"""Classes in the left column of the sheet; the others, and the words of the house, stand right."""

PANELS = (6, 9, 12, 15, 18, 24)
"""Numbers of tasters for which the least number of right answers is printed."""


@dataclass(frozen=True)
class Attribute:
    """One attribute and a hint."""

    name: str
    hint: str


@dataclass(frozen=True)
class FlavourClass:
    """A class of attributes; its title is empty where its one attribute says the same."""

    title: str
    attributes: tuple[Attribute, ...]


@dataclass(frozen=True)
class TastingView:
    """The tasting sheet, ready to be set."""

    identity: Identity
    cautions: tuple[Caution, ...]
    columns: tuple[tuple[FlavourClass, ...], ...]
    scale: tuple[str, ...]
    blanks: tuple[Blank, ...]
    triangle: bool
    needed: tuple[tuple[str, str], ...]


def _columns(own: Mapping[str, str]) -> tuple[tuple[FlavourClass, ...], ...]:
    """Return the classes in two columns, words of the house last."""
    classes = [
        FlavourClass(
            "" if [title.lower()] == list(terms) else title,
            tuple(Attribute(term_words(term), hint) for term, hint in terms.items()),
        )
        for title, terms in CLASSES
    ]
    added = tuple(
        Attribute(term_words(str(word)), str(hint))
        for word, hint in own.items()
        if word not in TERMS
    )
    if added:
        classes.append(FlavourClass("Our own words", added))
    return tuple(classes[:LEFT_CLASSES]), tuple(classes[LEFT_CLASSES:])


def tasting_sheet(assessment: Assessment, paper: str, copy: int = 1) -> TastingView:
    """Return the tasting sheet of a batch; with a triangle test where a comparison is planned.

    A comparison is planned when the plan starts from another batch, or a session names one.
    """
    record, brewery = assessment.record, assessment.archive.brewery
    named = [s.triangle.against for s in record.tasting if s.triangle is not None]
    return TastingView(
        identity=identity_of(assessment, TITLE, paper, copy),
        cautions=above("taste"),
        columns=_columns({} if brewery is None else brewery.flavours),
        scale=tuple(str(n) for n in range(SCALE)),
        blanks=(Blank("Glass code", "time"), Blank("Taster", "sample"), Blank("Date", "reading")),
        triangle=bool(named or record.plan.like),
        needed=tuple((str(n), str(triangle_needed(n) or "not enough")) for n in PANELS),
    )
