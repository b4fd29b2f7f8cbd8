"""Who answers for what, and the values that were corrected after they were written."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.record.units import Quantity
from reportgen.record.values import Day, Moment, Reading, Text
from reportgen.report.record_sections.words import person


class SignatureLine(NamedTuple):
    """Who answers for what: printed name, role, what it means, when."""

    name: str
    role: str
    meaning: str
    when: str


class Correction(NamedTuple):
    """A value that was changed after it was written."""

    place: str
    was: str
    now: str
    by: str
    on: str
    because: str


def signature_lines(assessment: Assessment) -> Iterator[SignatureLine]:
    """Say who planned, brewed, typed, checked, packed and decided."""
    record = assessment.record
    day = record.brew_day

    def line(initials: Text | None, role: str, meaning: str, when: object) -> SignatureLine:
        return SignatureLine(person(assessment, initials), role, meaning, str(when or ""))

    if record.plan.written_by:
        yield line(record.plan.written_by, "Planner", "wrote the plan", "")
    if day is not None:
        for brewer in day.brewers:
            yield line(brewer, "Brewer", "brewed, and wrote it down as it happened", day.date)
        if day.typed_by:
            yield line(day.typed_by, "Typist", "typed the record from the sheet", "")
        if day.checked_by:
            yield line(day.checked_by, "Checker", "compared the record with the sheet", "")
    if record.packaging is not None and record.packaging.packaged_by:
        yield line(record.packaging.packaged_by, "Packer", "packed the beer", record.packaging.date)
    if record.review is not None and record.review.decided_by:
        yield line(
            record.review.decided_by, "Releaser",
            f"decided: {record.review.disposition or 'nothing yet'}", record.review.decided_on,
        )


def correction_lines(assessment: Assessment) -> Iterator[Correction]:
    """Find every reading that was changed, wherever it stands in the record."""
    for place, reading in _readings(assessment.record, ""):
        if reading.was is not None:
            yield Correction(
                place,
                reading.was.text,
                reading.value.text if reading.value else reading.state.value,
                person(assessment, reading.amended_by),
                str(reading.amended_on or ""),
                str(reading.because or ""),
            )


def _readings(value: object, place: str) -> Iterator[tuple[str, Reading]]:
    if isinstance(value, Reading):
        yield place, value
    elif isinstance(value, tuple):
        for number, item in enumerate(value, 1):
            yield from _readings(item, f"{place} {number}")
    elif dataclasses.is_dataclass(value) and not isinstance(value, (Quantity, Day, Moment, type)):
        for field in dataclasses.fields(value):
            if field.name != "position":
                step = field.name.replace("_", " ")
                where = f"{place}, {step}" if place else step
                yield from _readings(getattr(value, field.name), where)
