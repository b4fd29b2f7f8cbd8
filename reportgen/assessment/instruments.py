"""The instruments of the house as they were on one day: by the check that held then."""

from __future__ import annotations

import bisect
import datetime
from collections.abc import Sequence
from typing import Any

from reportgen.forecast.resolve import number_of
from reportgen.record.kinds import PLATO_FROM, may_read, read_quantity, width_of
from reportgen.record.model.brewery import Brewery, Instrument, InstrumentCheck
from reportgen.record.units import UnitError
from reportgen.science.density import extract_from_gravity, gravity_from_extract
from reportgen.science.method import OutOfRange


def check_on(instrument: Instrument, day: datetime.date | None) -> InstrumentCheck | None:
    """Return the latest check on or before a day, of all when ``day`` is None; None for none."""
    before = [c for c in instrument.checks if day is None or c.on.date <= day]
    return max(before, key=lambda c: c.on.date, default=None)


def instrument_on(instrument: Instrument, day: datetime.date | None) -> Instrument:
    """Return an instrument with nothing but the check that held on a day.

    One without a list of checks is returned as it is: its single day of the last check says
    nothing of any earlier one.
    """
    if not instrument.checks:
        return instrument
    held = check_on(instrument, day)
    # What may be left out is declared without saying so; None is its value then.
    was: dict[str, Any] = {"checked": None, "check_note": None, "checks": ()}
    if held is not None:
        was = {
            "checked": held.on,
            "check_note": held.note or instrument.check_note,
            "uncertainty": held.uncertainty or instrument.uncertainty,
            "checks": (held,),
        }
    return instrument.with_members(**was)


def brewery_on(brewery: Brewery, day: datetime.date | None) -> Brewery:
    """Return the house with its instruments as they were on a day; None for today and later."""
    if not any(instrument.checks for instrument in brewery.instruments.values()):
        return brewery
    instruments = {name: instrument_on(i, day) for name, i in brewery.instruments.items()}
    return brewery.with_members(instruments=instruments)


def reads_plato(instrument: Instrument | None) -> bool:
    """Whether a gravity instrument is graduated in degrees Plato or Brix, not in SG."""
    return instrument is not None and instrument.resolution.value >= PLATO_FROM


def in_gravity(width: float, about: float) -> float:
    """Return a width in degrees Plato as a width in SG, at a gravity ``about`` (SG)."""
    extract = float(extract_from_gravity(about))
    return float(gravity_from_extract(extract + width)) - float(gravity_from_extract(extract))


def points_of(
    check: InstrumentCheck, kind: str, brix: bool = False
) -> tuple[list[float], list[float]]:
    """Return the true values and the readings of a check's points, in order, in the base unit.

    With ``brix`` only those in degrees Brix, in these; without, only the others. Points of another
    kind are left out: the loader has said so.
    """
    points = []
    for point in check.points:
        try:
            at, reads = (read_quantity(q.text, kind) for q in (point.at, point.reads))
        except UnitError:
            continue
        if at.unit == "Bx" or reads.unit == "Bx":
            if brix and at.unit == reads.unit:
                points.append((at.value, reads.value))
        elif not brix:
            points.append((number_of(at), number_of(reads)))
    points.sort()
    return [at for at, _ in points], [reads for _, reads in points]


def interpolated(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Return y at x on the straight lines between points, ``xs`` rising; level beyond the ends."""
    place = bisect.bisect_left(xs, x)
    if place in (0, len(xs)):
        return ys[0] if place == 0 else ys[-1]
    low, high = xs[place - 1], xs[place]
    return ys[place - 1] + (ys[place] - ys[place - 1]) * (x - low) / (high - low)


def high_by_points(
    check: InstrumentCheck, kind: str, reads: float | None, true: float | None, brix: bool = False
) -> float | None:
    """Return what an instrument shows too much by the points of its check; None without points.

    At a reading, or at a true value; at neither, in the middle of the points.
    """
    ats, shown = points_of(check, kind, brix)
    if not ats:
        return None
    errors = [r - a for a, r in zip(ats, shown, strict=True)]
    if true is not None:
        return interpolated(true, ats, errors)
    return interpolated((shown[0] + shown[-1]) / 2 if reads is None else reads, shown, errors)


def reads_high_by(
    instrument: Instrument | None, kind: str, about: float | None = None, brix: bool = False
) -> float:
    """Return what an instrument shows less what is true, in the base unit of a kind; or 0.

    ``instrument`` is as it was on the day, ``about`` the value that it is at: an offset in degrees
    Plato is another in SG at each gravity. One in a unit of another kind than the reading's is
    not taken. With ``brix`` both are degrees Brix.
    """
    unit = "Bx" if brix else ""
    if instrument is None or not instrument.checks or (
        not may_read(str(instrument.reads), kind, unit)
    ):
        return 0.0
    check = instrument.checks[-1]
    if check.points and (by_points := high_by_points(check, kind, about, None, brix)) is not None:
        return by_points
    offset, width = check.reads_high_by, width_of(kind)
    if offset is None or width is None or offset.kind not in (width.kind, kind):
        return 0.0
    if brix:
        return offset.value
    if kind == "gravity" and reads_plato(instrument):
        try:
            return in_gravity(offset.value, 1.04 if about is None else about)
        except OutOfRange:
            return 0.0
    return offset.value


def shown_by(instrument: Instrument | None, kind: str, true: float) -> float:
    """Return what an instrument shows where a value is true, both in the base unit of a kind.

    This is the one place where the sheets turn what is true into what is read.
    """
    if instrument is not None and instrument.checks and may_read(str(instrument.reads), kind):
        by_points = high_by_points(instrument.checks[-1], kind, None, true)
        if by_points is not None:
            return true + by_points
    return true + reads_high_by(instrument, kind, true)


def weighs_high_by(instrument: Instrument | None, kind: str, reads: float) -> float:
    """Return what a scale, or a measure, shows too much where it shows ``reads``; or 0.

    Nothing is taken off a weight no larger than the offset: so little cannot have been read on
    it. Sheets and records both go by this, so that a dose means the same on either.
    """
    offset = reads_high_by(instrument, kind, reads)
    return offset if reads > abs(offset) else 0.0
