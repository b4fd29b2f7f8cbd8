"""Deviations: what was off and by how much, what it did, what was written, closed or not."""

from __future__ import annotations

from typing import NamedTuple

from reportgen.assessment.assess import Assessment, Departure, Effect, Result
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES
from reportgen.record.model.later import Deviation
from reportgen.report.numbers import NARROW, Units, signed
from reportgen.report.plan_text import printed_as, sentence
from reportgen.report.record_sections.planned import difference_of, is_stop
from reportgen.report.record_sections.words import Item, person, severity_rank
from reportgen.report.rows import possible


class EffectLine(NamedTuple):
    """What a deviation did to one figure of the beer."""

    title: str
    change: str


class DeviationView(NamedTuple):
    """One deviation: what, how much, what it did, what was written, whether it is closed."""

    title: str
    severity: str
    status: str
    is_open: bool
    summary: str
    effects: tuple[EffectLine, ...]
    too_small: bool
    items: tuple[Item, ...]


def deviations_of(assessment: Assessment, units: Units) -> list[DeviationView]:
    """Return the readings off plan and what was written of others, worst first."""
    views = [_departure(assessment, d, units) for d in assessment.departures]
    reviewed = [d.review for d in assessment.departures if d.review is not None]
    review = assessment.record.review
    for deviation in review.deviations if review else ():
        if any(deviation is one for one in reviewed):
            continue
        figure = FIGURES.get(str(deviation.figure))
        result = assessment.find(str(deviation.figure))
        title = figure.title if figure else sentence(str(deviation.figure).replace("_", " "))
        severity = str(deviation.severity or (figure.severity if figure else "minor"))
        summary = _summary(assessment, result, units) if result is not None else ""
        views.append(
            DeviationView(
                title, severity, _status(assessment, deviation), deviation.closed_on is None,
                summary, (), False, _items(deviation),
            )
        )
    return sorted(views, key=lambda view: severity_rank(view.severity))


def _departure(assessment: Assessment, departure: Departure, units: Units) -> DeviationView:
    figure = departure.result.figure
    review = departure.review
    return DeviationView(
        figure.title,
        departure.severity,
        _status(assessment, review),
        departure.is_open,
        _summary(assessment, departure.result, units),
        tuple(_effect(e, units) for e in departure.effects if e.can_be_told),
        any(not e.can_be_told for e in departure.effects),
        _items(review) if review is not None else (),
    )


def _status(assessment: Assessment, deviation: Deviation | None) -> str:
    if deviation is None or deviation.closed_on is None:
        return "open"
    by = f" by {person(assessment, deviation.closed_by)}" if deviation.closed_by else ""
    return f"closed {deviation.closed_on}{by}"


def _summary(assessment: Assessment, result: Result, units: Units) -> str:
    figure, actual, expected = result.figure, result.actual, result.expected
    kind, decimals = printed_as(figure, assessment.case)
    if actual is None or actual.value is None:
        if not result.is_critical or result.critical is None:
            return ""
        low, high = result.critical.low, result.critical.high
        allowed = units.range(*possible((low, high), kind), kind, decimals)
        return f"No reading; allowed {allowed} ({_origin('critical')}), which is not shown kept."
    read = units.text(actual.value, kind, decimals)
    good = units.plus_minus(actual.uncertainty, kind, decimals)
    parts = [f"Read {read} {good}"]
    if expected is not None:
        word = "forecast" if is_stop(result) else "expected"
        parts.append(f"{word} {units.text(expected.value, kind, decimals)}")
    if result.limits is not None:
        low, high = result.limits.low, result.limits.high
        allowed = units.range(*possible((low, high), kind), kind, decimals)
        parts.append(f"allowed {allowed} ({_origin(result.limits.origin)})")
    difference = difference_of(assessment, result)
    if result.verdict is Verdict.OFF_PLAN and difference is not None:
        away = units.difference(difference, kind, decimals)
        parts.append(f"{away}, more than the instrument could explain")
    elif result.is_critical:
        parts.append("the instrument cannot tell it from the limit, so the limit is not kept")
    return "; ".join(parts) + "."


def _origin(origin: str) -> str:
    return {"plan": "by the plan", "house": "by the brewery", "default": "by default",
            "critical": "critical limit of the plan",
            "rating": "rating of what it is packed in"}.get(origin, origin)


def _effect(effect: Effect, units: Units) -> EffectLine:
    figure, change, uncertainty = effect.figure, effect.change, effect.uncertainty
    decimals = figure.decimals
    if figure.kind == "fraction":
        shown = max(decimals, 4) - 2
        text = f"{_signed_percent(change, shown)} ±{100 * uncertainty:.{shown}f}"
        return EffectLine(figure.title, f"{text}{NARROW}% points")
    # One decimal more than the figure itself, since a change is smaller than the thing.
    more = decimals if figure.kind == "gravity" else decimals + 1
    text = units.difference(change, figure.kind, more)
    text += f" {units.plus_minus(uncertainty, figure.kind, more)}"
    return EffectLine(figure.title, units.join(text, figure.kind))


def _signed_percent(share: float, decimals: int) -> str:
    """Return a share as per cent with its sign."""
    shown = f"{abs(share) * 100:.{decimals}f}"
    if not shown.strip("0."):
        return shown
    return signed(shown) if share > 0 else f"\u2212{shown}"


def _items(deviation: Deviation) -> tuple[Item, ...]:
    cause = str(deviation.cause or "")
    if cause and deviation.cause_certainty:
        cause = f"{cause} ({deviation.cause_certainty})"
    elif deviation.cause_certainty == "unknown":
        cause = "unknown"
    pairs = (
        ("What happened", deviation.what),
        ("Cause", cause),
        ("Effect, beyond what is computed", deviation.effect),
        ("Correction", deviation.correction),
        ("Corrective action", deviation.corrective_action),
        ("Other batches", deviation.other_batches),
        ("Disposition", deviation.disposition),
    )
    return tuple(Item(label, str(text)) for label, text in pairs if text)
