"""The batch is released while a deviation is open or on hold.

A batch with an open major or critical deviation is on hold until somebody has judged it. A batch
is not released with a deviation whose own disposition is `hold` or `scrap`. A regraded batch
counts as released. One that nobody has written about yet is reported by off-plan-without-review, and
here only if it is critical.

Fix: close the deviation, or write disposition: hold
Source: Codex CXC 1-1969 step 10; 21 CFR 211.192
Passes:
    brew_day: {date: 2026-03-14}
    review: {disposition: hold}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.060}}
    review: {disposition: release, deviations: [{figure: original_gravity, what: strong}]}
"""

from reportgen.assessment.causes import is_closed, name_of, shows_in
from reportgen.assessment.departures import cause_severity
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, silenced_in
from reportgen.forecast.figures import FIGURES

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MAJOR
ALSO = {Severity.CRITICAL: "the deviation is critical or says scrap"}


def check(batch: Assessment) -> Remarks:
    """Compare the disposition with what is open."""
    review = batch.record.review
    if review is None or review.disposition not in ("release", "regrade"):
        return
    done = f"{review.disposition}d"
    other = [d for d in review.deviations if d.disposition in ("hold", "scrap")]
    for deviation in review.deviations:
        if deviation in other:
            yield Remark(
                review.disposition.position,
                f"{done}, while the deviation `{name_of(deviation)}` says {deviation.disposition}",
                str(deviation.disposition),
                "write the same disposition for both, once it is decided",
                severity=Severity.CRITICAL if deviation.disposition == "scrap" else None,
            )
            continue
        # One about a figure is among those that the readings show, below.
        is_shown = bool(FIGURES.keys() & shows_in(deviation))
        severity = cause_severity(batch.departures, deviation)
        if severity >= Severity.MAJOR and not is_shown and not is_closed(
            deviation, severity, review
        ):
            yield Remark(
                review.disposition.position,
                f"{done}, while the {severity} deviation `{name_of(deviation)}` is open",
                "hold",
                severity=Severity.CRITICAL if severity is Severity.CRITICAL else None,
            )
    is_silent = "off-plan-without-review" in silenced_in(batch)
    for departure in batch.departures:
        is_critical = departure.severity is Severity.CRITICAL
        is_told = departure.review is None and not (is_silent or is_critical)
        is_told = is_told or departure.review in other
        if departure.is_open and departure.severity >= Severity.MAJOR and not is_told:
            yield Remark(
                review.disposition.position,
                f"{departure.result.figure.title}: {done} while its deviation is open",
                "hold",
                severity=Severity.CRITICAL if is_critical else None,
            )
