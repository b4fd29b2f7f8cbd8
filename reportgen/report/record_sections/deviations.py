"""Deviations, once each, by cause: what it shows in, what it did, what was written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.assessment.causes import is_closed, name_of, shows_in, worst
from reportgen.assessment.departures import Departure, cause_severity
from reportgen.assessment.explained import Explained
from reportgen.assessment.results import Result
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES, OUTCOMES
from reportgen.record.kinds import KINDS, is_share
from reportgen.record.model.later import Deviation
from reportgen.record.printed import NARROW, Units, signed, width_kind
from reportgen.report.figure_text import figure_difference, listed
from reportgen.report.parts import Labelled
from reportgen.report.plan_text import printed_as, sentence
from reportgen.report.record_sections.plan_against_actual import difference_of, is_stop
from reportgen.report.record_sections.words import person, severity_rank
from reportgen.report.rows import possible


class ShownLine(NamedTuple):
    """One figure that a cause shows in: by how much it was off, in one line and alone."""

    title: str
    summary: str
    note: str
    off: str


class DeviationView(NamedTuple):
    """One cause: what it shows in, what it did, what was written, whether it is closed.

    ``what`` is the cause in one line for the first page.
    """

    title: str
    severity: str
    status: str
    is_open: bool
    shown: tuple[ShownLine, ...]
    findings: tuple[str, ...]
    effect: str
    items: tuple[Labelled, ...]
    what: str

    @property
    def short_title(self) -> str:
        """The title for a single line: of many figures the first, and how many more there are."""
        names = [line.title for line in self.shown]
        if len(names) <= MOST_NAMED:
            return self.title
        return f"{listed(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"


MOST_NAMED = 3
"""Figures of one cause that are named where it has a single line."""


def deviations_of(
    assessment: Assessment, units: Units, explained: Explained
) -> list[DeviationView]:
    """Return each cause of the review, then what nobody has explained yet, worst first.

    A figure off plan that follows from an earlier one is proposed under the cause of that one.
    """
    unexplained = [d for d in assessment.departures if d.review is None]
    views = []
    for cause in assessment.record.deviations:
        keys = tuple(shows_in(cause))
        proposed = [d for d in unexplained if explained.root(d.result.figure.key) in keys]
        unexplained = [d for d in unexplained if d not in proposed]
        views.append(_written(assessment, cause, keys, proposed, units, explained))
    views += _of_the_giver(assessment, units, explained)
    while unexplained:
        first = unexplained[0]
        root = explained.root(first.result.figure.key)
        own = [
            d for d in unexplained
            if explained.root(d.result.figure.key) == root and d.batch == first.batch
        ]
        own.sort(key=lambda d: d.result.figure.key != root)
        unexplained = [d for d in unexplained if d not in own]
        views.append(_unwritten(assessment, own, units, explained))
    return sorted(views, key=lambda view: severity_rank(view.severity))


def _of_the_giver(
    assessment: Assessment, units: Units, explained: Explained
) -> Iterator[DeviationView]:
    """Yield the causes that the review of the batch has whose wort it is, as far as they show.

    All of it stands in the record there; here it is what happened, and why.
    """
    by_cause: dict[int, list[Departure]] = {}
    for departure in assessment.departures:
        if departure.batch and departure.review is not None:
            by_cause.setdefault(id(departure.review), []).append(departure)
    for own in by_cause.values():
        cause = own[0].review
        if cause is None:
            continue
        keys = [d.result.figure.key for d in own]
        shown = tuple(_shown(assessment, keys, units, explained))
        is_open = any(d.is_open for d in own)
        yield DeviationView(
            listed(line.title for line in shown),
            worst(d.severity for d in own),
            f"{_status(assessment, cause, is_open)}, in {own[0].batch}",
            is_open,
            shown,
            (),
            _effect(explained, keys, units),
            _items(cause)[:2],
            " ".join(str(cause.what).split()),
        )


def _written(
    assessment: Assessment,
    cause: Deviation,
    keys: tuple[str, ...],
    proposed: Sequence[Departure],
    units: Units,
    explained: Explained,
) -> DeviationView:
    severity = cause_severity(assessment.departures, cause)
    own = [d for d in assessment.departures if d.review is cause]
    review = assessment.record.review
    is_open = bool(proposed) or review is None or not is_closed(cause, severity, review)
    shown = list(_shown(assessment, keys, units, explained))
    also = tuple(dict.fromkeys(d.result.figure.key for d in proposed))
    lines = [line for key in also for line in _shown(assessment, [key], units, explained)]
    # One line of the record confirms them all.
    note = f"Proposed: confirm with figures: [{', '.join((*keys, *also))}]"
    shown += [line._replace(note="Proposed") for line in lines[:-1]]
    shown += [line._replace(note=note) for line in lines[-1:]]
    named = [line.title for line in shown] or [sentence(name_of(cause))]
    worst_of = worst((severity, *(d.severity for d in (*own, *proposed))))
    return DeviationView(
        listed(named),
        worst_of if cause.severity is None else severity,
        _status(assessment, cause, is_open),
        is_open,
        tuple(shown),
        tuple(str(f) for f in cause.findings),
        _effect(explained, keys, units),
        _items(cause),
        " ".join(str(cause.what).split()),
    )


def _unwritten(
    assessment: Assessment, own: Sequence[Departure], units: Units, explained: Explained
) -> DeviationView:
    keys = tuple(dict.fromkeys(d.result.figure.key for d in own))
    shown = tuple(_shown(assessment, keys, units, explained))
    fact = explained.follows.get(keys[0])
    there = f" in {own[0].batch}" if own[0].batch else ""
    what = f"No cause is written yet{there}."
    if fact is not None:
        what += f" Proposed cause: {fact.title[:1].lower()}{fact.title[1:]}."
    return DeviationView(
        listed(line.title for line in shown), worst(d.severity for d in own), "open", True,
        shown, (), _effect(explained, keys, units), (Labelled("What happened", what),), what,
    )  # fmt: skip


def _shown(
    assessment: Assessment, keys: Sequence[str], units: Units, explained: Explained
) -> Iterator[ShownLine]:
    """Yield a line of each figure; of packaging one of each kind of container where it is off."""
    for key in keys:
        off = {d.filling for d in assessment.departures if d.result.figure.key == key}
        every = enumerate(assessment.packed_as)
        for packed in [of for number, of in every if number in off] or [assessment]:
            figure, result = FIGURES.get(key), packed.find(key)
            title = figure.title if figure else sentence(key.replace("_", " "))
            if packed.filling_number:
                title += f" ({packed.packed_in})"
            fact = explained.follows.get(key) if not packed.filling_number else None
            note = f"Follows from {fact.title[:1].lower()}{fact.title[1:]}" if fact else ""
            summary = _summary(packed, result, units) if result else ""
            yield ShownLine(title, summary, note, _off(packed, result, units))


def _off(assessment: Assessment, result: Result | None, units: Units) -> str:
    """Return by how much a figure was off plan, with its unit; empty where it was not."""
    if result is None or result.verdict is not Verdict.OFF_PLAN:
        return ""
    _, difference = difference_of(assessment, result)
    if difference is None:
        return ""
    if KINDS[result.figure.kind].is_either:
        kind, decimals = printed_as(result.figure, assessment.case)
        return units.join(units.difference(difference, kind, decimals), kind)
    return figure_difference(units, result.figure.key, difference)


def _effect(explained: Explained, keys: Sequence[str], units: Units) -> str:
    """Say what the readings of a cause moved in the finished beer, where it is more than its U."""
    parts = []
    for outcome in OUTCOMES:
        steps = [
            change
            for fact, change in explained.replay.of(outcome)
            if fact.figure in keys and fact.figure != outcome
        ]
        size = sum(change.size for change in steps)
        if any(change.is_clear for change in steps) and abs(size) >= FIGURES[outcome].worth / 2:
            figure = FIGURES[outcome]
            parts.append(f"{figure.in_sentence} {change_text(units, outcome, size)}")
    return ", ".join(parts)


def _status(assessment: Assessment, deviation: Deviation, is_open: bool) -> str:
    if deviation.closed_on is None:
        return "open" if is_open else "closed"
    by = f" by {person(assessment, deviation.closed_by)}" if deviation.closed_by else ""
    closed = f"closed {deviation.closed_on}{by}"
    return f"open for what is proposed, else {closed}" if is_open else closed


def _summary(assessment: Assessment, result: Result, units: Units) -> str:
    figure, actual, expected = result.figure, result.actual, result.expected
    kind, decimals = printed_as(figure, assessment.case)
    if result.limits is not None:
        half = units.converted((result.limits.high - result.limits.low) / 2, width_kind(kind))
        # Limits within a printed step would read as one number.
        decimals += half < 10.0 ** -units.decimals(kind, decimals)
    if actual is None or actual.value is None:
        if not result.is_critical or result.critical is None:
            return ""
        low, high = result.critical.low, result.critical.high
        allowed = units.range(*possible((low, high), kind), kind, decimals)
        hazard = _hazard(assessment, result)
        return f"No reading; allowed {allowed} ({_origin('critical')}), not shown kept; {hazard}."
    read = units.text(actual.value, kind, decimals)
    good = units.plus_minus(actual.uncertainty, kind, decimals)
    parts = [f"{read} {good}"]
    if expected is not None:
        word = "forecast" if is_stop(result) else "expected"
        parts.append(f"{word} {units.text(expected.value, kind, decimals)}")
    if result.limits is not None:
        low, high = result.limits.low, result.limits.high
        allowed = units.range(*possible((low, high), kind), kind, decimals)
        parts.append(f"allowed {allowed} ({_origin(result.limits.origin)})")
    _, difference = difference_of(assessment, result)
    if result.verdict is Verdict.OFF_PLAN and difference is not None:
        away = units.difference(difference, kind, decimals)
        parts.append(f"{away}, more than the instrument could explain")
    elif result.is_critical:
        parts.append("the instrument cannot tell it from the limit, so the limit is not kept")
    if result.is_critical:
        parts.append(_hazard(assessment, result))
    return "; ".join(parts) + "."


def _hazard(assessment: Assessment, result: Result) -> str:
    """Return why the limit that was not kept is there, in the words of the plan."""
    return str(assessment.record.plan.critical_limits[result.figure.key].because).rstrip(".")


def _origin(origin: str) -> str:
    return {"plan": "by the plan", "house": "by the brewery", "default": "by default",
            "critical": "critical limit of the plan",
            "rating": "rating of what it is packed in"}.get(origin, origin)


def change_text(units: Units, key: str, change: float) -> str:
    """Return a change of a figure with its sign and unit; a share in percentage points."""
    figure = FIGURES[key]
    if is_share(figure.kind):
        return f"{_signed_percent(change, max(figure.decimals, 4) - 2)}{NARROW}% points"
    # One decimal more than the figure itself, since a change is smaller than the thing.
    more = figure.decimals if figure.kind == "gravity" else figure.decimals + 1
    return units.join(units.difference(change, figure.kind, more), figure.kind)


def _signed_percent(share: float, decimals: int) -> str:
    """Return a share as per cent with its sign."""
    shown = f"{abs(share) * 100:.{decimals}f}"
    if not shown.strip("0."):
        return shown
    return signed(shown) if share > 0 else f"\u2212{shown}"


def _items(deviation: Deviation) -> tuple[Labelled, ...]:
    cause = str(deviation.cause or "")
    if cause and deviation.cause_certainty:
        cause = f"{cause} ({deviation.cause_certainty})"
    elif deviation.cause_certainty == "unknown":
        cause = "unknown"
    pairs = (
        ("What happened", deviation.what),
        ("Cause", cause),
        ("Effect", deviation.effect),
        ("Correction", deviation.correction),
        ("Corrective action", deviation.corrective_action),
        ("Other batches", deviation.other_batches),
        ("Instrument in doubt", deviation.instrument),
        ("Disposition", deviation.disposition),
    )
    return tuple(Labelled(label, str(text)) for label, text in pairs if text)
