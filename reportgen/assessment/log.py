"""The fermentation log: corrected points against hours since pitching, and what is expected."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterable

from msgspec import Struct

from reportgen.assessment.corrections import Actual
from reportgen.assessment.readings import actual_of_reading, original_extract, reads_brix
from reportgen.forecast.case import Case
from reportgen.forecast.figures import Figure, Stage
from reportgen.record.finding import Position
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.later import LogEntry
from reportgen.record.units import Quantity
from reportgen.record.values import Moment, Reading
from reportgen.science.number import Number

GRAVITY = Figure(
    "log_gravity", Stage.FERMENT, "Present gravity", "gravity", 4, ("fermentation", "log"),
    "hydrometer", has_alcohol=True,
)
TEMPERATURE = Figure(
    "log_temperature", Stage.FERMENT, "Temperature", "temperature", 1, ("fermentation", "log"),
    "thermometer",
)
PH = Figure("log_ph", Stage.FERMENT, "pH", "ph", 2, ("fermentation", "log"), "ph_meter")
PRESSURE = Figure(
    "log_pressure", Stage.FERMENT, "Pressure", "pressure", 2, ("fermentation", "log"),
    "pressure_gauge",
)
USUAL_PITCH = datetime.time(15, 0)
"""Taken as the time of pitching when none is written."""

_HALF_A_DAY = 720


class LogPoint(Struct, frozen=True):
    """One entry of the log: hours since pitching, corrected values and their ±U (k = 2)."""

    at: datetime.datetime
    hours: float
    position: Position | None
    gravity: float | None = None
    gravity_uncertainty: float = 0.0
    gravity_position: Position | None = None
    temperature: float | None = None
    temperature_uncertainty: float = 0.0
    temperature_position: Position | None = None
    ph: float | None = None
    note: str = ""
    faults: tuple[tuple[Position | None, str], ...] = ()
    """Why a reading is not used, and where it stands."""


def pitched_at(record: Record) -> datetime.datetime | None:
    """Return the moment of pitching: the written time, else 15:00 of the brew day.

    A time that is half a day or more before an earlier step of the work is one after midnight.
    """
    day = record.brew_day
    if day is None:
        return None
    at = day.pitch.at if day.pitch is not None else None
    if at is None:
        return datetime.datetime.combine(day.date.date, USUAL_PITCH)
    if isinstance(at, Moment):
        return at.at
    boiled = day.boil.ended if day.boil else None
    if isinstance(boiled, Moment):
        # The boil has its own day: what was soured in the kettle is boiled days later.
        late = boiled.minutes - at.minutes >= _HALF_A_DAY
        start = datetime.datetime.combine(boiled.at.date(), datetime.time())
        return start + datetime.timedelta(days=late, minutes=at.minutes)
    steps = (
        day.mash.started if day.mash else None,
        day.run_off.started if day.run_off else None,
        day.boil.started if day.boil else None,
        boiled,
        at,
    )
    times = [step.minutes for step in steps if step is not None]
    midnights = sum(before - after >= _HALF_A_DAY for before, after in itertools.pairwise(times))
    start = datetime.datetime.combine(day.date.date, datetime.time())
    return start + datetime.timedelta(days=midnights, minutes=at.minutes)


def in_time(record: Record) -> list[LogEntry]:
    """Return the entries of the fermentation log in the order of time, however they stand."""
    return sorted(record.log, key=lambda entry: entry.at.at)


def last_gravity(record: Record) -> tuple[Moment, Quantity] | None:
    """Return when the last gravity of the log was read, and what was read; None for none."""
    read = [
        (entry.at, entry.gravity.value) for entry in in_time(record) if entry.gravity is not None
    ]
    return next(((at, value) for at, value in reversed(read) if value is not None), None)


def is_in_order(moments: Iterable[Moment]) -> bool:
    """Whether moments, as those of a log, stand in the order of time."""
    return all(one.at <= two.at for one, two in itertools.pairwise(moments))


def log_of(
    record: Record, brewery: Brewery, case: Case | None = None
) -> tuple[LogPoint, ...]:
    """Return the points of the fermentation log in the order of time."""
    start = pitched_at(record)
    if record.fermentation is None:
        return ()
    points = []
    readings = [entry.gravity for entry in record.log if entry.gravity is not None]
    is_needed = any(reads_brix(reading) for reading in readings)
    original = original_extract(record, brewery, case) if is_needed else None
    for entry in in_time(record):
        gravity = _actual(record, brewery, GRAVITY, entry.gravity, original)
        temperature = _actual(record, brewery, TEMPERATURE, entry.temperature)
        ph = _actual(record, brewery, PH, entry.ph)
        since = entry.at.at - (start or entry.at.at)
        points.append(
            LogPoint(
                entry.at.at,
                since.total_seconds() / 3600,
                entry.position,
                gravity.value if gravity else None,
                gravity.uncertainty if gravity else 0.0,
                entry.gravity.position if entry.gravity else None,
                temperature.value if temperature else None,
                temperature.uncertainty if temperature else 0.0,
                entry.temperature.position if entry.temperature else None,
                ph.value if ph else None,
                str(entry.note or ""),
                tuple(
                    (quantity.reading.position, quantity.note)
                    for quantity in (gravity, temperature, ph)
                    if quantity is not None and quantity.note
                ),
            )
        )
    return tuple(points)


def _actual(
    record: Record,
    brewery: Brewery,
    figure: Figure,
    reading: Reading | None,
    original: Number | None = None,
) -> Actual | None:
    if reading is None:
        return None
    return actual_of_reading(record, figure, reading, brewery, original)
