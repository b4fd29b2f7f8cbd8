"""The fermentation log: what was written, gravities and temperatures corrected."""

from __future__ import annotations

from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.assessment.log import in_time
from reportgen.record.model.later import LogEntry
from reportgen.record.printed import Units
from reportgen.report.record_sections.course import as_written


class LogLine(NamedTuple):
    """One entry of the fermentation log."""

    when: str
    day: str
    gravity: str
    temperature: str
    ph: str
    by: str
    note: str


def log_lines(assessment: Assessment, units: Units) -> tuple[LogLine, ...]:
    """Return the entries of the log, in the order of time; none before there is one."""
    lines = []
    for entry, point in zip(in_time(assessment.record), assessment.log, strict=False):
        lines.append(
            LogLine(
                str(entry.at),
                f"{point.hours / 24:.1f}",
                "" if point.gravity is None else f"{point.gravity:.4f}",
                "" if point.temperature is None else
                units.number(point.temperature, "temperature", 1),
                "" if point.ph is None else f"{point.ph:.2f}",
                str(entry.by or ""),
                "; ".join(filter(None, (str(entry.note or ""), _pressure(entry), _samples(entry)))),
            )
        )
    return tuple(lines)


def _pressure(entry: LogEntry) -> str:
    """Return the pressure of a closed fermenter as written."""
    return f"pressure {as_written(entry.pressure)}" if entry.pressure is not None else ""


def _samples(entry: LogEntry) -> str:
    """Say how warm the samples of an entry were; nothing where that was not written."""
    samples = (
        reading.sample_temperature.text
        for reading in (entry.gravity, entry.ph)
        if reading is not None and reading.sample_temperature is not None
    )
    listed = ", ".join(dict.fromkeys(samples))
    return f"sample at {listed}" if listed else ""
