"""Who answers for what, and the values that were corrected after they were written."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.record.each_value import fields_in
from reportgen.record.values import Reading, Text
from reportgen.report.record_sections.words import person


class SignatureLine(NamedTuple):
    """One person, and what that person answers for, each with its day."""

    name: str
    meaning: str


class Correction(NamedTuple):
    """A value that was changed after it was written."""

    place: str
    was: str
    now: str
    by: str
    on: str
    because: str


def signature_lines(assessment: Assessment) -> Iterator[SignatureLine]:
    """Say who planned, brewed, typed, checked, packed and decided: a line a person."""
    roles: dict[str, list[str]] = {}
    for name, meaning in _each_signature(assessment):
        roles.setdefault(name, []).append(meaning)
    for name, meanings in roles.items():
        yield SignatureLine(name, "; ".join(dict.fromkeys(meanings)))


def _each_signature(assessment: Assessment) -> Iterator[tuple[str, str]]:
    record = assessment.record
    day, packed, review = record.brew_day, record.packaging, record.review
    signed: list[tuple[Text | None, str]] = [(record.plan.written_by, "wrote the plan")]
    if day is not None:
        words = f"brewed {day.date}, entries made at the time"
        signed += [(brewer, words) for brewer in day.brewers]
        signed.append((day.typed_by, "typed the record from the sheet"))
        signed.append((day.checked_by, "checked the record against the sheet"))
    if packed is not None:
        signed.append((packed.packaged_by, f"packed {packed.date}"))
    if review is not None:
        on = f" {review.decided_on}" if review.decided_on else ""
        signed.append((review.decided_by, f"decided{on}: {review.disposition or 'nothing yet'}"))
    for initials, meaning in signed:
        if initials:
            yield person(assessment, initials), meaning


def correction_lines(assessment: Assessment) -> Iterator[Correction]:
    """Find every reading that was changed, wherever it stands in the record."""
    for place, _, reading in fields_in(assessment.record):
        if isinstance(reading, Reading) and reading.was is not None:
            yield Correction(
                place,
                reading.was.text,
                reading.value.text if reading.value else reading.state.value,
                person(assessment, reading.amended_by),
                str(reading.amended_on or ""),
                str(reading.because or ""),
            )
