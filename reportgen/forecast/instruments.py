"""The instruments of the house as they were on one day: by the check that held then."""

from __future__ import annotations

import dataclasses
import datetime
from typing import Any

from reportgen.record.model.brewery import Brewery, Instrument, InstrumentCheck


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
    return dataclasses.replace(instrument, **was)


def brewery_on(brewery: Brewery, day: datetime.date | None) -> Brewery:
    """Return the house with its instruments as they were on a day; None for today and later."""
    if not any(instrument.checks for instrument in brewery.instruments.values()):
        return brewery
    instruments = {name: instrument_on(i, day) for name, i in brewery.instruments.items()}
    return dataclasses.replace(brewery, instruments=instruments)


def reads_high_by(instrument: Instrument | None, kind: str) -> float:
    """Return what to take off a reading of an instrument, in the base unit of its kind; or 0.

    ``instrument`` is as it was on the day. An offset in a unit of another kind than the reading's
    is not taken.
    """
    if instrument is None or not instrument.checks:
        return 0.0
    offset = instrument.checks[-1].reads_high_by
    wanted = {"temperature": "temperature_difference", "gravity": "ratio", "ph": "ratio"}
    if offset is None or offset.kind != wanted.get(kind, kind):
        return 0.0
    return offset.value
