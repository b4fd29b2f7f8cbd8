"""Readings to actuals: units, corrections, uncertainty of the instrument."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Any

from uncertainties import ufloat

from reportgen.forecast.actual import Actual
from reportgen.forecast.figures import FIGURES, READ, Figure
from reportgen.forecast.instruments import reads_high_by
from reportgen.forecast.resolve import gravity_of, method_chosen
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Instruments
from reportgen.record.model.brewery import Brewery, Instrument
from reportgen.record.units import Quantity
from reportgen.record.values import Reading, State
from reportgen.science.density import (
    cold_volume,
    extract_from_gravity,
    gravity_from_extract,
    hydrometer_correction,
)
from reportgen.science.mash_ph import room_temperature_ph
from reportgen.science.measurement import reading_uncertainty
from reportgen.science.method import OutOfRange
from reportgen.science.number import nominal
from reportgen.science.refractometer import DEFAULT as REFRACTOMETER
from reportgen.science.refractometer import MODELS as REFRACTOMETER_MODELS
from reportgen.science.refractometer import extract_from_brix

WARM_PH = 30.0
"""Above this sample temperature a pH reading is brought to room temperature, degC."""


def reading_at(record: Record, figure: Figure) -> Reading | None:
    """Return the reading of a figure, or None when nothing is written there."""
    found: Any = record
    for step in figure.path:
        found = getattr(found, step, None)
        if found is None:
            return None
    return found if isinstance(found, Reading) else None


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
    return house_instrument(brewery, kind, about)


def instrument_uncertainty(instrument: Instrument | None, quantity: Quantity | None) -> float:
    """Return ±U (k = 2) of a reading: the instrument's, or that of the last decimal written."""
    if instrument is not None:
        stated = instrument.uncertainty.value if instrument.uncertainty else None
        return 2 * float(reading_uncertainty(instrument.resolution.value, stated))
    if quantity is None:
        return 0.0
    return 2 * float(reading_uncertainty(quantity.step, None))


def actual_of(record: Record, figure: Figure, brewery: Brewery) -> Actual | None:
    """Return the corrected actual of a figure; None when nothing is written there.

    A correction that its formula does not cover is not made, and the note says so.
    """
    reading = reading_at(record, figure)
    if reading is None:
        return None
    name = instrument_name(record, figure, reading, brewery)
    instrument = brewery.instruments.get(name)
    if reading.state is not State.READ or reading.value is None:
        return Actual(figure.key, reading, None, instrument=name)
    start = original_extract(record, brewery) if figure.key in FERMENTING else None
    model = refractometer_model(record, brewery)
    return correct(figure, reading, reading.value, name, instrument, start, model)


def refractometer_model(record: Record, brewery: Brewery) -> str:
    """Return the model by which a refractometer reading of fermenting wort is taken."""
    return method_chosen(record.plan, brewery, "refractometer", REFRACTOMETER)


FERMENTING = ("final_gravity", "log_gravity")
"""Figures whose sample holds alcohol, so that a refractometer reads them askew."""


def original_extract(record: Record, brewery: Brewery) -> float | None:
    """Return the original extract as read, degP; None when it was not."""
    actual = actual_of(record, FIGURES["original_gravity"], brewery)
    if actual is None or actual.value is None:
        return None
    try:
        return float(extract_from_gravity(actual.value))
    except OutOfRange:
        return None


def correct(
    figure: Figure,
    reading: Reading,
    quantity: Quantity,
    name: str,
    instrument: Instrument | None,
    original: float | None = None,
    model: str = REFRACTOMETER,
) -> Actual:
    """Return the actual that a reading stands for.

    ``original`` is the original extract in degP, which a refractometer needs once there is
    alcohol, and ``model`` the one by which it is then taken.
    """
    offset = reads_high_by(instrument, figure.kind)
    if offset:
        true = dataclasses.replace(quantity, value=quantity.value - offset)
        return _with_offset(
            _correct(figure, reading, true, name, instrument, original, model), quantity
        )
    return _correct(figure, reading, quantity, name, instrument, original, model)


def _with_offset(actual: Actual, read: Quantity) -> Actual:
    """Return an actual whose correction counts from what was read, and says what was taken off."""
    raw = gravity_of(read) if read.kind == "gravity" and read.unit != "Bx" else read.value
    correction = 0.0 if actual.value is None or read.unit == "Bx" else actual.value - raw
    name = actual.instrument.replace("_", " ")
    words = f"read {read.text}; {name} reads off by its check"
    return dataclasses.replace(actual, raw=raw, correction=correction, offset=words)


def _correct(
    figure: Figure,
    reading: Reading,
    quantity: Quantity,
    name: str,
    instrument: Instrument | None,
    original: float | None,
    model: str,
) -> Actual:
    known = instrument is not None
    u = instrument_uncertainty(instrument, quantity) / 2
    raw = quantity.value
    sample = reading.sample_temperature
    note = method = ""
    try:
        if figure.kind == "gravity":
            return _gravity(figure, reading, quantity, name, instrument, original, model)
        if figure.kind == "volume" and sample is not None:
            value = float(cold_volume(raw, sample.value))
            method = "density.cold_volume"
        elif figure.kind == "ph" and sample is not None and sample.value > WARM_PH:
            value = float(room_temperature_ph(raw, sample.value))
            method = "mash_ph.room_temperature_ph"
            u = (u**2 + 0.05**2) ** 0.5
        else:
            value = raw
    except OutOfRange as error:
        value, note, method = raw, f"not corrected: {error}", ""
    return Actual(
        figure.key, reading, ufloat(value, u, figure.key), raw, value - raw, method, name, known,
        note,
    )


def _gravity(
    figure: Figure,
    reading: Reading,
    quantity: Quantity,
    name: str,
    instrument: Instrument | None,
    original: float | None,
    model: str,
) -> Actual:
    sample = reading.sample_temperature
    note = method = ""
    if quantity.unit == "Bx":
        return _refractometer(figure, reading, quantity, name, instrument, original, model)
    raw = gravity_of(quantity)
    value = raw
    u = _gravity_uncertainty(quantity, raw, instrument) / 2
    reference = 20.0
    if instrument is not None and instrument.reference_temperature is not None:
        reference = instrument.reference_temperature.value
    if sample is not None:
        try:
            value = float(hydrometer_correction(raw, sample.value, reference))
            method = "density.hydrometer_correction"
        except OutOfRange as error:
            note = f"not corrected: {error}"
    elif abs(reference - 20.0) > 0.1:
        value = float(hydrometer_correction(raw, 20.0, reference))
        method = "density.hydrometer_correction"
    return Actual(
        figure.key, reading, ufloat(value, u, figure.key), raw, value - raw, method, name,
        instrument is not None, note,
    )


FERMENTING_U = 0.002
"""±U of a gravity got from a refractometer once there is alcohol, on top of its reading."""


def _refractometer(
    figure: Figure,
    reading: Reading,
    quantity: Quantity,
    name: str,
    instrument: Instrument | None,
    original: float | None,
    model: str,
) -> Actual:
    """Gravity from a refractometer; in fermenting wort by way of the original extract."""
    raw = quantity.value
    factor = instrument.wort_factor.value if instrument and instrument.wort_factor else 1.04
    step = instrument_uncertainty(instrument, quantity)
    known = instrument is not None
    if figure.key not in FERMENTING:
        value = float(gravity_from_extract(extract_from_brix(raw, factor)))
        above = float(gravity_from_extract(extract_from_brix(raw + step, factor)))
        number = ufloat(value, (above - value) / 2, figure.key)
        return Actual(
            figure.key, reading, number, raw, 0.0, "refractometer.extract_from_brix", name, known
        )
    if original is None:
        note = "a refractometer needs the original gravity to read beer: not used"
        return Actual(figure.key, reading, None, raw, 0.0, "", name, known, note)
    present = REFRACTOMETER_MODELS[model]
    value = float(present(original, raw, factor))
    above = float(present(original, raw + step, factor))
    u = ((above - value) ** 2 + FERMENTING_U**2) ** 0.5 / 2
    return Actual(
        figure.key, reading, ufloat(value, u, figure.key), raw, 0.0,
        f"refractometer.{present.__name__}", name, known,
    )


def _gravity_uncertainty(
    quantity: Quantity, raw: float, instrument: Instrument | None
) -> float:
    """Return ±U in SG. An instrument graduated in degrees Plato has its step in those."""
    if quantity.unit == "SG":
        return instrument_uncertainty(instrument, quantity)
    step = instrument_uncertainty(instrument, quantity)
    if instrument is not None and instrument.resolution.value < 0.02:
        return step
    return float(gravity_from_extract(quantity.value + step)) - raw


def actuals_of(
    record: Record, brewery: Brewery, figures: Iterable[Figure] = READ
) -> dict[str, Actual]:
    """Return every actual of a record by its figure's key."""
    found = {}
    for figure in figures:
        actual = actual_of(record, figure, brewery)
        if actual is not None:
            found[figure.key] = actual
    return found


def numbers(actuals: dict[str, Actual]) -> dict[str, Any]:
    """Return the actual numbers that replace what the forecast expects."""
    return {key: a.number for key, a in actuals.items() if a.number is not None}


def is_plausible(key: str, value: float) -> bool:
    """Whether an actual can be put into the forecast at all; nonsense is for the checks to say."""
    kind = FIGURES[key].kind
    bounds = {"gravity": (0.98, 1.2), "temperature": (-5.0, 105.0), "ph": (2.0, 10.0)}
    low, high = bounds.get(kind, (0.0, float("inf")))
    return low <= nominal(value) <= high
