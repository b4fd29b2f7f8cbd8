"""The first page: what was made, what became of it, the numbers that count, the decision."""

from __future__ import annotations

from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES
from reportgen.report.numbers import BLANK, Units
from reportgen.report.plan_text import headline_decimals
from reportgen.report.record_sections.deviations import DeviationView
from reportgen.report.record_sections.marks import MARKS, Mark, mark_of
from reportgen.report.record_sections.words import SEVERITIES, Item, person, plural
from reportgen.science.number import expanded_uncertainty, nominal

DISPOSITIONS = {
    "release": "Released",
    "hold": "On hold",
    "rework": "To be reworked",
    "regrade": "Regraded",
    "scrap": "Scrapped",
}

COUNT_WORDS = (
    (Verdict.ON_PLAN, "on plan"),
    (Verdict.TOO_CLOSE, "too close to call"),
    (Verdict.OFF_PLAN, "off plan"),
    (Verdict.NOT_RECORDED, "not recorded"),
)


class Count(NamedTuple):
    """How many figures have one verdict."""

    mark: Mark
    number: str


class Headline(NamedTuple):
    """One of the five numbers of the first page."""

    title: str
    plan: str
    actual: str
    uncertainty: str
    mark: Mark
    note: str


def fact_items(assessment: Assessment, units: Units) -> tuple[Item, ...]:
    """Return when the batch was brewed and packed, and how much went into the fermenter."""
    record = assessment.record
    volume = BLANK
    if "fermenter_volume" in assessment.now:
        volume = units.text(nominal(assessment.now["fermenter_volume"]), "volume", 1)
    packed = record.packaging
    return (
        Item("Brewed", str(record.brew_day.date) if record.brew_day else "not yet"),
        Item("Into the fermenter", volume),
        Item("Packed", str(packed.date) if packed else "not yet"),
        *((Item("Packed into", _container(assessment, units)),) if packed else ()),
    )


def _container(assessment: Assessment, units: Units) -> str:
    vessel = assessment.case.container
    what = vessel.name or vessel.kind
    if vessel.rating is None:
        return f"{what}, rating unknown"
    return f"{what}, rated {units.text(vessel.rating, 'pressure', 1)}"


def verdict_sentence(assessment: Assessment, deviations: tuple[DeviationView, ...]) -> str:
    """Return the sentence that answers first: what became of the batch, and is anything open."""
    record = assessment.record
    review = record.review
    if review is not None and review.disposition is not None:
        start = DISPOSITIONS[review.disposition]
    elif any(d.is_open and d.severity == "critical" for d in deviations):
        start = "Hold: a critical limit is not met"
    elif record.packaging is not None:
        start = "Packed, not yet released"
    elif record.fermentation is not None and record.fermentation.finished is not None:
        start = "Fermented, not yet packed"
    else:
        start = "Fermenting" if record.fermentation is not None else "Brewed"
        start = start if record.brew_day is not None else "Planned"
    if not deviations:
        read = any(r.verdict not in (None, Verdict.NOT_RECORDED) for r in assessment.results)
        return f"{start}. No deviation." if read else f"{start}. No reading is recorded."
    severities = [d.severity for d in deviations]
    parts = [
        plural(severities.count(s), f"{s} deviation" if s != "note" else "note")
        for s in SEVERITIES
        if s in severities
    ]
    still = sum(d.is_open for d in deviations)
    listed = ", ".join(parts)
    if not still:
        end = "closed" if len(deviations) == 1 else "all closed"
    elif still == len(deviations):
        end = "open" if still == 1 else "all open"
    else:
        end = f"{still} still open"
    return f"{start} with {listed}, {end}."


def count_lines(assessment: Assessment) -> tuple[Count, ...]:
    """Return how many readings have each verdict."""
    counts = assessment.verdict_counts()
    return tuple(Count(Mark(MARKS[v], words), str(counts[v])) for v, words in COUNT_WORDS)


def headline_lines(assessment: Assessment, units: Units) -> tuple[Headline, ...]:
    """Return the headline numbers; what nobody measures is computed with the readings."""
    lines = []
    for figure in FIGURES.values():
        if not figure.headline:
            continue
        result = assessment.find(figure.key)
        expected = assessment.planned.expected.get(figure.key)
        if result is None or expected is None:
            continue
        number = assessment.as_brewed(figure.key)
        measured = result.actual is not None and not result.actual.derived_from
        note = "computed" if number is not None and not measured else ""
        decimals = headline_decimals(figure)
        lines.append(
            Headline(
                figure.title,
                units.text(expected.value, figure.kind, decimals),
                BLANK if number is None else units.text(nominal(number), figure.kind, decimals),
                "" if number is None else
                units.plus_minus(expanded_uncertainty(number), figure.kind, decimals),
                mark_of(result),
                note,
            )
        )
    return tuple(lines)


def decision(assessment: Assessment) -> str:
    """Say who decided what becomes of the batch, and when."""
    review = assessment.record.review
    if review is None or review.disposition is None:
        return "Nobody has decided yet what becomes of this batch."
    word = DISPOSITIONS[review.disposition]
    by = person(assessment, review.decided_by) or "nobody named"
    on = f" on {review.decided_on}" if review.decided_on else ""
    return f"{word}{on} by {by}"
