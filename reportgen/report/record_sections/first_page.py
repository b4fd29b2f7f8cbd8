"""The first page: all that is asked of a batch years later.

What it is and was to be, what went right and wrong in three lines, from plan to glass, how it
tasted, what was learned, the decision, and where the rest is.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.assessment.causes import SEVERITIES
from reportgen.assessment.fillings import FERMENTER, Filling
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES
from reportgen.record.finding import Severity
from reportgen.record.model.flavours import term_words
from reportgen.record.printed import BLANK, Units
from reportgen.report.figure_text import listed
from reportgen.report.markdown import to_line
from reportgen.report.record_sections.deviations import DeviationView
from reportgen.report.record_sections.plan_against_actual import MARKS, Mark, mark_of
from reportgen.report.record_sections.words import person, plural
from reportgen.report.working import line_key
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
    """One of the numbers of the first page; ``lines`` names its lines in the Working."""

    title: str
    plan: str
    actual: str
    uncertainty: str
    mark: Mark
    note: str
    lines: str


HEADLINES = (
    "original_gravity", "final_gravity", "alcohol", "bitterness", "colour", "carbonation",
    "packaged_volume",
)  # fmt: skip
"""Figures of the first page, in the order of the work."""

MOST_WRONG = 2
"""Deviations told on the first page, the worst."""


def went_lines(
    assessment: Assessment, deviations: tuple[DeviationView, ...]
) -> tuple[str, ...]:
    """Return what went wrong, worst first, and what was read as planned: three lines at most."""
    lines = []
    for deviation in deviations[:MOST_WRONG]:
        off = deviation.shown[0].off if deviation.shown else ""
        # What stands after the comma of a title is left out where there are several.
        first, comma, others = deviation.short_title, "", ""
        if len(deviation.shown) > 1:
            first, comma, others = first.partition(", ")
        about = f"{first} {off}".strip() + comma + others
        state = "open" if deviation.is_open else "closed"
        told = "" if deviation.what.rstrip(".") == deviation.title else f": {deviation.what}"
        lines.append(f"{about} ({deviation.severity}, {state}){told}")
    if len(deviations) > MOST_WRONG:
        lines[-1] += f" And {len(deviations) - MOST_WRONG} more: see Deviations."
    if not deviations:
        read = any(r.verdict not in (None, Verdict.NOT_RECORDED) for r in assessment.results)
        if read:
            lines.append("No reading left the plan by more than its instrument could explain.")
        if computed := _computed_off(assessment):
            lines.append(f"Computed from what was read, added and taken, off plan: {computed}.")
    return tuple(lines)


def _computed_off(assessment: Assessment) -> str:
    """Name the figures off plan that no instrument reads; what moved them is in the steps."""
    off = (r.figure.title for r in assessment.results if r.verdict is Verdict.OFF_PLAN)
    return listed(off, in_sentence=True)


def tasted(assessment: Assessment) -> str:
    """Say how the beer tasted: the latest tasting in words, else its strongest scores."""
    for session in sorted(assessment.record.tasting, key=lambda s: str(s.date), reverse=True):
        words = to_line(session.remarks)
        if not words and session.means:
            strong = sorted(session.means.items(), key=lambda pair: -pair[1].value)[:4]
            words = ", ".join(f"{term_words(str(k))} {q.value:.1f}" for k, q in strong)
        if words:
            who = ", ".join(str(t) for t in session.assessors)
            return f"{session.date}{f', {who}' if who else ''}: {words}"
    return ""


def learned(assessment: Assessment) -> str:
    """Return what was learned, in one run of text; empty for nothing."""
    review = assessment.record.review
    return to_line(review.learned) if review is not None else ""


def signed_by(assessment: Assessment) -> str:
    """Return who answers for what, by initials, in one line."""
    record = assessment.record
    day = record.brew_day
    pairs: list[tuple[str, object]] = [("plan", record.plan.written_by)]
    if day is not None:
        pairs += [
            ("brewed", ", ".join(str(b) for b in day.brewers)), ("typed", day.typed_by),
            ("checked", day.checked_by),
        ]  # fmt: skip
    if record.packaging is not None:
        pairs.append(("packed", record.packaging.packaged_by))
    if record.review is not None:
        pairs.append(("decided", record.review.decided_by))
    return "; ".join(f"{role} {who}" for role, who in pairs if who)


def fact_line(assessment: Assessment, units: Units) -> str:
    """Say when the batch was brewed and packed, into what, and how much was fermented."""
    record = assessment.record
    parts = [f"brewed {record.brew_day.date}" if record.brew_day else "not brewed yet"]
    # What nobody read may never have come there: it was spilled, or the day broken off.
    if (read := assessment.as_brewed("fermenter_volume")) is not None:
        volume = units.text(nominal(read), "volume", 1)
        parts.append(f"{volume} into the fermenter")
    if record.packaging is not None:
        into = " and ".join(
            _container(kind, units) for kind in assessment.filled_kinds
        )
        parts.append(f"packed {record.packaging.date} into {into}")
    words = ", ".join(parts)
    return f"{words[:1].upper()}{words[1:]}"


def _container(assessment: Assessment, units: Units) -> str:
    vessel = assessment.case.container
    what, filling = assessment.packed_in, assessment.filling
    if filling is not None:
        what += _amount(filling, units)
    if vessel.rating is None:
        return f"{what}, rating unknown"
    return f"{what}, rated {units.text(vessel.rating, 'pressure', 1)}"


def _amount(filling: Filling, units: Units) -> str:
    """Return how many containers there are and what is in them, and what they were filled from."""
    packed, entry, litres = filling.record.packaging, filling.entry, filling.amount
    told = []
    if packed is not None and packed.containers is not None:
        told.append(f"{packed.containers.value:.0f} of them")
    if litres is not None:
        told.append(units.text(nominal(litres), "volume", 1))
    if filling.source != FERMENTER:
        told.append(f"out of the {filling.source.replace('_', ' ')}")
    day = getattr(entry, "date", None) if filling.number else None
    if day is not None and packed is not None and packed.date != day:
        told.append(f"on {day}")
    return f" ({', '.join(told)})" if told else ""


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
        none = "No reading off plan." if _computed_off(assessment) else "No deviation."
        return f"{start}. {none}" if read else f"{start}. No reading is recorded."
    severities = [d.severity for d in deviations]
    parts = [
        plural(severities.count(s), f"{s} deviation" if s is not Severity.NOTE else "note")
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


def headline_lines(
    assessment: Assessment, units: Units, lines: Mapping[str, str]
) -> tuple[Headline, ...]:
    """Return the headline numbers; what nobody measures is computed with the readings.

    What differs from one kind of container to another is told of each.
    """
    headlines = []
    for key in HEADLINES:
        for of in assessment.filled_kinds if FIGURES[key].of_each else (assessment,):
            headline = _headline(of, key, units, lines.get(line_key(of, key), ""))
            if headline is not None:
                named = assessment.others_filled and FIGURES[key].of_each
                title = f"{headline.title}, {of.packed_in}" if named else headline.title
                headlines.append(headline._replace(title=title))
    return tuple(headlines)


def _headline(assessment: Assessment, key: str, units: Units, lines: str) -> Headline | None:
    figure = FIGURES[key]
    result = assessment.find(key)
    expected = assessment.planned.expected.get(key)
    if result is None or expected is None:
        return None
    number = assessment.as_brewed(key)
    measured = result.actual is not None and not result.actual.derived_from
    decimals = figure.headline_decimals
    return Headline(
        figure.title,
        units.text(expected.value, figure.kind, decimals),
        BLANK if number is None else units.text(nominal(number), figure.kind, decimals),
        "" if number is None else
        units.plus_minus(expanded_uncertainty(number), figure.kind, decimals),
        mark_of(result),
        "computed" if number is not None and not measured else "",
        lines,
    )


def decision(assessment: Assessment) -> str:
    """Say who decided what becomes of the batch, and when."""
    review = assessment.record.review
    if review is None or review.disposition is None:
        return "Nobody has decided yet what becomes of this batch."
    word = DISPOSITIONS[review.disposition]
    by = person(assessment, review.decided_by) or "nobody named"
    on = f" on {review.decided_on}" if review.decided_on else ""
    return f"{word}{on} by {by}"
