"""Readings off plan, each with what the brewer wrote about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from reportgen.assessment.causes import cause_of, is_closed, shows_in, worst
from reportgen.assessment.results import Result
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES
from reportgen.record.finding import Severity
from reportgen.record.load import Archive
from reportgen.record.model.batch import Record
from reportgen.record.model.later import Deviation
from reportgen.science.number import Number


class Departure(Struct, frozen=True):
    """A reading off plan, and what the brewer wrote about it.

    A critical limit that is not clearly kept is a departure too, without a reading that is clearly
    off. What departures did to the beer is in the replay, see :mod:`reportgen.assessment.replay`.
    ``is_open`` until it is closed in the review. What was read on the brew day of the batch whose
    wort it is has its review there: ``batch`` is that batch, empty for the record's own.
    """

    result: Result
    review: Deviation | None
    severity: Severity
    is_open: bool = True
    batch: str = ""
    filling: int = 0
    """Number of the containers that it is of, where the beer went into several kinds."""


def giver_of(archive: Archive, record: Record) -> Record | None:
    """Return the record of the batch whose wort a record ferments; None where it is brewed here."""
    return archive.record(record.wort_from.batch) if record.wort_from is not None else None


def departures_of(
    readings: Mapping[str, Number], results: tuple[Result, ...], record: Record,
    giver: Record | None,
) -> tuple[Departure, ...]:
    """Return each reading off plan, and each critical limit not kept, worst first."""
    departures = []
    for result in results:
        key = result.figure.key
        is_off = result.verdict is Verdict.OFF_PLAN and key in readings
        # Too close to call, left out or forgotten: held all the same.
        if is_off or result.is_critical:
            proposed = result.severity if is_off else Severity.CRITICAL
            departures.append(_departure(result, proposed, record, giver))
    return tuple(sorted(departures, key=lambda d: -d.severity.rank))


def _departure(
    result: Result, proposed: Severity, record: Record, giver: Record | None
) -> Departure:
    review, batch = record.review, ""
    where = result.actual.reading.position if result.actual is not None else None
    theirs = giver.position if giver is not None else None
    read_there = where is not None and theirs is not None and where.file == theirs.file
    if giver is not None and read_there and cause_of(review, result.figure.key) is None:
        review, batch = giver.review, str(giver.batch)
    cause = cause_of(review, result.figure.key)
    if cause is None or review is None:
        return Departure(result, None, proposed, batch=batch)
    severity = Severity(str(cause.severity or proposed))
    return Departure(result, cause, severity, not is_closed(cause, severity, review), batch)


def cause_severity(departures: Iterable[Departure], cause: Deviation) -> Severity:
    """Return how much a deviation of the review matters: as written, else the worst it shows in."""
    if cause.severity is not None:
        return Severity(str(cause.severity))
    severities = [d.severity for d in departures if d.review is cause]
    return worst(severities or (FIGURES[k].severity for k in shows_in(cause) if k in FIGURES))
