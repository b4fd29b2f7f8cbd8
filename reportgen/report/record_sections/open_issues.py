"""Open issues: what stands between the batch and its release, worst first, each figure once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES
from reportgen.record.finding import Severity
from reportgen.report.figure_text import listed
from reportgen.report.plan_text import sentence
from reportgen.report.record_sections.deviations import DeviationView
from reportgen.report.record_sections.words import plural, severity_rank

FORECAST_STOPS = "forecast-stops"
NOT_WRITTEN_IN_FULL = "deviation-not-closed"
PLAN_CHANGED = "plan-changed-since-issued"
"""Checks whose findings the first page tells in words of its own."""

MOST_ISSUES = 3
"""The first page stays one page: of more open issues than these it only says how many there are."""

LAST = len(Severity)
"""Rank of an issue that weighs less than any deviation: it is listed after them."""


class Issue(NamedTuple):
    """One open issue: its rank (0 is worst), the figure that it is about if any, what is open."""

    rank: int
    figure: str
    reason: str


def issue_lines(
    assessment: Assessment, deviations: tuple[DeviationView, ...]
) -> Iterator[str]:
    """Say what is open, worst first: each figure once, with all that is open of it."""
    issues = sorted(
        (*_open_deviations(deviations), *_open_findings(assessment), *_other_issues(assessment)),
        key=lambda issue: issue.rank,
    )
    by_figure: dict[str, list[str]] = {}
    for issue in issues:
        # One that is about no figure stands alone.
        reasons = by_figure.setdefault(issue.figure or issue.reason, [])
        if issue.figure and issue.reason not in reasons:
            reasons.append(issue.reason)
    lines = [f"{about}: {'; '.join(r)}" if r else about for about, r in by_figure.items()]
    yield from lines[:MOST_ISSUES]
    more = [f"{len(lines) - MOST_ISSUES} more"] if len(lines) > MOST_ISSUES else []
    notes = sum(f.severity is Severity.NOTE for f in assessment.findings)
    more += [f"{plural(notes, 'note')} of the checks"] if notes else []
    if more:
        yield f"{' and '.join(more)}: see Deviations and What the checks found"


def _open_deviations(deviations: tuple[DeviationView, ...]) -> Iterator[Issue]:
    for deviation in deviations:
        if deviation.is_open:
            rank = severity_rank(deviation.severity)
            yield Issue(rank, deviation.short_title, f"{deviation.severity} deviation not closed")


def _other_issues(assessment: Assessment) -> Iterator[Issue]:
    for stage, reason in assessment.problems:
        yield Issue(0, "", f"The {stage} cannot be forecast in full: {reason}")
    if any(f.rule == PLAN_CHANGED for f in assessment.findings):
        words = "The plan was changed after the sheet was issued: see Plan against actual"
        yield Issue(severity_rank("major"), "", words)
    missing = [r.figure.title for r in assessment.results if r.verdict is Verdict.NOT_RECORDED]
    missing += [
        f"{r.figure.title} ({other.packed_in})" for other in assessment.others_filled
        for r in other.own_packing if r.verdict is Verdict.NOT_RECORDED
    ]
    if missing:
        yield Issue(LAST, "", f"Not recorded: {listed(missing)}")


def _open_findings(assessment: Assessment) -> Iterator[Issue]:
    """Say what the checks found, notes left out. A message about a figure begins with its title."""
    others = assessment.others_filled
    off_plan = {
        r.actual.reading.position: f"{r.figure.title}{where}"
        for results, where in (
            *((other.own_packing, f" ({other.packed_in})") for other in others),
            (assessment.results, ""),
        )
        for r in results if r.verdict is Verdict.OFF_PLAN and r.actual is not None
    }  # fmt: skip
    for finding in sorted(assessment.findings, key=lambda f: f.place):
        if finding.rule in (FORECAST_STOPS, PLAN_CHANGED) or finding.severity is Severity.NOTE:
            continue
        severity, message = finding.severity.value, finding.message
        rank = max(0, Severity.CRITICAL.rank - finding.severity.rank)
        title, _, rest = message.partition(": ")
        # One of packaging may name its containers behind the title.
        about = title.partition(" (")[0]
        if rest and any(about == figure.title for figure in FIGURES.values()):
            in_part = finding.rule == NOT_WRITTEN_IN_FULL
            yield Issue(rank, title, f"deviation not written in full, {rest}" if in_part else rest)
        elif finding.rule == NOT_WRITTEN_IN_FULL:
            yield Issue(rank, "", f"Deviation not written in full: {message}")
        elif finding.position in off_plan:
            yield Issue(rank, off_plan[finding.position], message)
        else:
            yield Issue(rank, "", f"{sentence(severity)}: {message}")
