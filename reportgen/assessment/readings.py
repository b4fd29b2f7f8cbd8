"""Readings of a record: which there are, what took them, and the actuals they stand for."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import Any

from msgspec.structs import replace

from reportgen.assessment.corrections import USUAL_WORT_FACTOR, Actual, Means, correct
from reportgen.assessment.instruments import in_gravity, reads_high_by, reads_plato
from reportgen.forecast.case import Case
from reportgen.forecast.ferment import mixed
from reportgen.forecast.figures import FIGURES, READ, Figure, Stage
from reportgen.forecast.method_u import CELLS_U
from reportgen.forecast.resolve import method_chosen
from reportgen.forecast.walk import walk
from reportgen.record.kinds import KINDS, may_read
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Instruments
from reportgen.record.model.brewery import Brewery, Instrument
from reportgen.record.units import Quantity
from reportgen.record.values import Reading, State
from reportgen.science.density import extract_from_gravity, gravity_from_extract
from reportgen.science.measurement import reading_uncertainty
from reportgen.science.method import OutOfRange
from reportgen.science.number import Number, nominal, ufloat
from reportgen.science.refractometer import DEFAULT as REFRACTOMETER
from reportgen.science.refractometer import MODELS, extract_from_brix


def reading_at(record: Record, figure: Figure) -> Reading | None:
    """Return the reading of a figure, or None when nothing is written there."""
    value: Any = record
    for step in figure.path:
        value = getattr(value, step, None)
        if value is None:
            return None
    return value if isinstance(value, Reading) else None


def instruments_for(record: Record, figure: Figure) -> Instruments | None:
    """Return the instruments of the section that a figure is read in."""
    section = getattr(record, figure.path[0], None)
    return getattr(section, "instruments", None)


SMALL_MASS = 2.0
"""Below this mass what is weighed goes on the finest scale of the house, kg: bench scales carry a
few kilograms (common practice, no source)."""


def house_instrument(brewery: Brewery, kind: str, size: float | None = None) -> str:
    """Return the name of the instrument of a kind that the house reads with; empty for none.

    The first in ``brewery.yaml``, save that small masses go on the finest scale. ``size`` is the
    mass in kg; None counts as small. Among other instruments the finest is not chosen: it is
    often the narrowest (a glass that ends at 1.060, a jug), and what a house lists says nothing
    of the range.
    """
    ours = [name for name, item in brewery.instruments.items() if item.reads == kind]
    if not ours:
        return ""
    if kind == "scale" and (size is None or size < SMALL_MASS):
        # min() keeps the first of equals, so the order in the file decides between them.
        return min(ours, key=lambda n: instrument_uncertainty(brewery.instruments[n], None))
    return ours[0]


def instrument_name(
    record: Record,
    figure: Figure,
    reading: Reading | None,
    brewery: Brewery,
    about: float | None = None,
) -> str:
    """Return the name of the instrument of a figure: of the reading, the day, the plan, the house.

    The house's is chosen by :func:`house_instrument`, by what was read, else by what is expected:
    ``about``, in the base unit. Empty when none is known.
    """
    if reading is not None and reading.instrument is not None:
        return str(reading.instrument)
    kind = figure.instrument
    if reading is not None and reading.value is not None and reading.value.unit == "Bx":
        kind = "refractometer"
    if not kind:
        return ""
    for chosen in (instruments_for(record, figure), record.plan.instruments):
        named = getattr(chosen, kind, None) if chosen is not None else None
        if named is not None:
            return str(named)
    if reading is not None and reading.value is not None:
        about = reading.value.value
    name = house_instrument(brewery, kind, about)
    if not name and kind == "hydrometer" and reading is None:
        # What is still to be read can only be read with what there is.
        name = house_instrument(brewery, "refractometer")
    return name


def fitting(brewery: Brewery, name: str, kind: str, unit: str = "") -> Instrument | None:
    """Return the instrument of a name, if it can read a quantity of a kind in a unit; else None.

    One of another kind says nothing of the reading, so that this counts as read with an unknown
    one. A check says so.
    """
    instrument = brewery.instruments.get(name)
    if instrument is None or not may_read(str(instrument.reads), kind, unit):
        return None
    return instrument


def instrument_uncertainty(
    instrument: Instrument | None, quantity: Quantity | None, readings: int = 1
) -> float:
    """Return ±U (k = 2) of a reading: the instrument's, or that of the last decimal written.

    The mean of several ``readings`` shares what was stated for the instrument; only what its step
    leaves open gets smaller, by the root of their number (JCGM 100:2008, 4.2.3).
    """
    fewer = readings**-0.5
    if instrument is not None:
        stated = instrument.uncertainty.value if instrument.uncertainty else None
        return 2 * float(reading_uncertainty(instrument.resolution.value * fewer, stated))
    if quantity is None:
        return 0.0
    return 2 * float(reading_uncertainty(quantity.step * fewer, None))


METHOD_U = {"cells": CELLS_U}
"""±U (k = 2) of what is read by a method, as a share of the reading, by its kind."""


def actual_of(
    record: Record, figure: Figure, brewery: Brewery, case: Case | None = None
) -> Actual | None:
    """Return the corrected actual of a figure; None when nothing is written there."""
    reading = reading_at(record, figure)
    if reading is None:
        return None
    is_needed = figure.has_alcohol and reads_brix(reading)
    original = original_extract(record, brewery, case) if is_needed else None
    return actual_of_reading(record, figure, reading, brewery, original)


def actual_of_reading(
    record: Record, figure: Figure, reading: Reading, brewery: Brewery, original: Number | None
) -> Actual:
    """Return what a reading of a figure stands for, corrected as its instrument asks.

    ``original`` is the original extract in degP, which a refractometer needs once there is
    alcohol.
    """
    name = instrument_name(record, figure, reading, brewery)
    if reading.state is not State.READ or reading.value is None:
        return Actual(figure.key, reading, instrument=name)
    value, again = reading.value, reading.again
    counted = again is not None and again.unit == value.unit
    if again is not None and counted:
        value = replace(value, value=(value.value + again.value) / 2)
    instrument = fitting(brewery, name, value.kind, value.unit)
    raw = float(gravity_from_extract(value.value)) if value.unit == "P" else value.value
    u = instrument_uncertainty(instrument, value, 2 if counted else 1)
    means = Means(
        figure,
        value.kind,
        value.unit,
        instrument,
        # A count of cells is no better than its method.
        max(u, METHOD_U.get(value.kind, 0.0) * abs(value.value)),
        _true_sample(record, figure, reading.sample_temperature, brewery),
        original,
        method_chosen(record.plan, brewery, "refractometer", REFRACTOMETER),
        brewery.system,
    )
    known = instrument is not None
    read = Actual(figure.key, reading, instrument=name, instrument_is_known=known)
    return correct(read, raw, means)


def brix_scale(
    instrument: Instrument, original: float | None, record: Record, brewery: Brewery
) -> Callable[[float], float]:
    """Return the gravity (SG) that a refractometer's degrees Brix stand for: of wort, or of beer.

    ``original`` is the original gravity (SG) of the beer, None for wort.
    """
    own = instrument.wort_factor
    factor = own.value if own is not None else USUAL_WORT_FACTOR
    if original is None:
        return lambda brix: nominal(gravity_from_extract(extract_from_brix(brix, factor)))
    present = MODELS[method_chosen(record.plan, brewery, "refractometer", REFRACTOMETER)]
    extract = nominal(extract_from_gravity(original))
    return lambda brix: nominal(present(extract, brix, factor))


SAMPLE = Figure("sample", Stage.MASH, "Sample", "temperature", 1, ("brew_day",), "thermometer")
"""The temperature of a sample, that every reading may have."""


@functools.cache
def _sample_in(path: tuple[str, ...]) -> Figure:
    return replace(SAMPLE, path=path)


def _true_sample(
    record: Record, figure: Figure, sample: Quantity | None, brewery: Brewery
) -> float | None:
    """Return how warm a sample was, degC, not as its thermometer showed it; None if not written."""
    if sample is None:
        return None
    at = _sample_in(figure.path)
    instrument = fitting(brewery, instrument_name(record, at, None, brewery), "temperature")
    return sample.value - reads_high_by(instrument, "temperature", sample.value)


def true_temperature(record: Record, reading: Reading, brewery: Brewery) -> float | None:
    """Return a temperature of the brew day that is not a figure, less what its thermometer shows
    too much, degC; None when none was read."""
    if reading.value is None:
        return None
    instrument = fitting(brewery, instrument_name(record, SAMPLE, reading, brewery), "temperature")
    read = reading.value.value
    return read - reads_high_by(instrument, "temperature", read)


def uncertainty_at(instrument: Instrument | None, kind: str, about: float) -> float:
    """Return ±U (k = 2) of an instrument at a value, both in the base unit of a kind."""
    u = instrument_uncertainty(instrument, None)
    if kind != "gravity" or not reads_plato(instrument):
        return u
    try:
        return in_gravity(u, about)
    except OutOfRange:
        return 0.0


def at_hand(
    figure: Figure, about: float | None, record: Record, brewery: Brewery
) -> tuple[str, Instrument | None, float]:
    """Return what a figure would be read with: its name, the instrument where it can, its ±U.

    ``about`` is what is expected, in the base unit; None where nothing is.
    """
    name = instrument_name(record, figure, None, brewery, about)
    instrument = fitting(brewery, name, figure.kind)
    return name, instrument, uncertainty_at(instrument, figure.kind, about or 1.0)


def original_extract(
    record: Record, brewery: Brewery, case: Case | None = None
) -> Number | None:
    """Return the original extract, degP: as read, else as the wort was forecast with its readings.

    With the ``case``, the sugar in the fermenter is counted in: by the volume read, else planned.
    None when it was not read and there is no case, or nothing can be forecast.
    """
    actual = actual_of(record, FIGURES["original_gravity"], brewery)
    gravity = actual.number if actual is not None else None
    if gravity is None and case is not None:
        gravity = _forecast_gravity(record, brewery, case)
    if gravity is None:
        return None
    try:
        if case is not None:
            read = actual_of(record, FIGURES["fermenter_volume"], brewery)
            volume = read.value if read is not None and read.value else case.volume
            gravity = mixed(volume, gravity, case)[1]
        return extract_from_gravity(gravity)
    except OutOfRange:
        return None


def _forecast_gravity(record: Record, brewery: Brewery, case: Case) -> Number | None:
    """Return the original gravity that nobody read, by what was read of the wort before."""
    of_wort = (f for f in READ if f.stage in WORT_STAGES)
    read = {f.key: actual for f in of_wort if (actual := actual_of(record, f, brewery)) is not None}
    expected = walk(case, plausible_numbers(read))[0].expected.get("original_gravity")
    if expected is None:
        return None
    return ufloat(expected.value, expected.uncertainty / 2, "original gravity, not read")


WORT_STAGES = (Stage.LIQUOR, Stage.MASH, Stage.RUN_OFF, Stage.BOIL)
"""What is read before the wort is in the fermenter."""


def reads_brix(reading: Reading) -> bool:
    """Whether a reading is one of a refractometer."""
    return reading.value is not None and reading.value.unit == "Bx"


def actuals_of(record: Record, brewery: Brewery, case: Case) -> dict[str, Actual]:
    """Return every actual of a record by its figure's key."""
    actuals = ((figure.key, actual_of(record, figure, brewery, case)) for figure in READ)
    return {key: actual for key, actual in actuals if actual is not None}


def plausible_numbers(actuals: Mapping[str, Actual]) -> dict[str, Number]:
    """Return the numbers that replace what the forecast expects, by their figures.

    What cannot be put into it at all is left out; nonsense is for the checks to say.
    """
    numbers = {}
    for key, actual in actuals.items():
        low, high = KINDS[FIGURES[key].kind].usual
        if actual.value is not None and low <= actual.value <= high:
            numbers[key] = actual.number
    return numbers
