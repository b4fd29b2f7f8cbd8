"""What a reading stands for: corrections for temperature and instrument, and the ±U left."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from reportgen.assessment.actual import Actual
from reportgen.assessment.instruments import (
    high_by_points,
    in_gravity,
    reads_high_by,
    reads_plato,
)
from reportgen.forecast.arguments import refusal, why_stopped
from reportgen.forecast.figures import Figure
from reportgen.forecast.resolve import gravity_of
from reportgen.record.model.brewery import Instrument
from reportgen.record.units import Quantity
from reportgen.record.values import Reading
from reportgen.science.density import (
    cold_volume,
    gravity_from_extract,
    hydrometer_correction,
)
from reportgen.science.mash_ph import room_temperature_ph
from reportgen.science.method import REFUSED, OutOfRange, own_uncertainty
from reportgen.science.number import Number, expanded_uncertainty, nominal
from reportgen.science.refractometer import DEFAULT, MODELS, extract_from_brix
from reportgen.science.uncertain import ufloat

NOTHING: Mapping[str, Number] = MappingProxyType({})

WARM_PH = 30.0
"""Above this sample temperature a pH reading is brought to room temperature, degC."""

FERMENTING = ("final_gravity", "log_gravity")
"""Figures whose sample holds alcohol, so that a refractometer reads them askew."""

USUAL_WORT_FACTOR, USUAL_WORT_FACTOR_U = 1.04, 0.03
OWN_WORT_FACTOR_U = 0.01
"""±U (k = 2) of the factor: page of ``refractometer.extract_from_brix``."""
REFERENCE = 20.0
"""Reference temperature of a hydrometer that states none, degC."""


@dataclass(frozen=True)
class RawReading:
    """A reading as it was taken, with all that its correction goes by.

    ``quantity`` is what was read and ``uncertainty`` the ±U of the instrument, in its unit.
    ``original`` is the original extract in degP, which a refractometer needs once there is
    alcohol, and ``model`` the one by which it is then taken. ``system`` are the units of the house,
    for what is said of a reading that cannot be corrected.
    """

    figure: Figure
    reading: Reading
    quantity: Quantity
    instrument_name: str
    instrument: Instrument | None
    uncertainty: float
    original: Number | None = None
    model: str = DEFAULT
    system: str = "metric"

    @property
    def is_brix(self) -> bool:
        """Whether a refractometer read it."""
        return self.quantity.unit == "Bx"

    @property
    def raw(self) -> float:
        """What was read, in the base unit; degrees Brix stay what they are."""
        if self.figure.kind == "gravity" and not self.is_brix:
            return gravity_of(self.quantity)
        return self.quantity.value

    def actual(
        self, value: float, uncertainty: float, method: str = "", note: str = ""
    ) -> Actual:
        """Return the actual of this reading: its value and ±U in the base unit of the figure."""
        return Actual(
            self.figure.key,
            self.reading,
            ufloat(value, uncertainty / 2, self.figure.key),
            self.raw,
            # Brix and gravity are not of one kind, so neither is the difference of the other.
            0.0 if self.is_brix else value - self.raw,
            method,
            self.instrument_name,
            self.instrument is not None,
            note,
        )

    def corrected(
        self, value: float, uncertainty: float, name: str, inputs: Mapping[str, Number] = NOTHING
    ) -> Actual:
        """Return the actual that a formula made of this reading, with the U of the formula."""
        own = own_uncertainty(name, value, inputs)
        return self.actual(value, (uncertainty**2 + own**2) ** 0.5, name)

    def not_used(self, note: str) -> Actual:
        """Return the actual of a reading that no value can be got from."""
        return Actual(
            self.figure.key, self.reading, None, self.quantity.value, 0.0, "",
            self.instrument_name, self.instrument is not None, note,
        )


def correct(taken: RawReading) -> Actual:
    """Return the actual that a reading stands for.

    A correction that its formula does not cover is not made, and what cannot be turned into the
    unit of its figure is not used; the note says so.
    """
    offset = _offset(taken)
    try:
        if not offset:
            return _corrected(taken)
        true = taken.quantity.value - offset
        unit = taken.quantity.unit
        if taken.figure.kind == "gravity" and not taken.is_brix:
            true, unit = taken.raw - offset, "SG"
        quantity = dataclasses.replace(taken.quantity, value=true, unit=unit)
        return _counted_from(_corrected(dataclasses.replace(taken, quantity=quantity)), taken)
    except REFUSED as error:
        return taken.not_used(f"not used: {why_stopped(error, taken.system)}")


def _offset(taken: RawReading) -> float:
    """Return what the instrument shows too much: degrees Brix of those, else in the base unit."""
    if taken.is_brix:
        check = taken.instrument.checks[-1:] if taken.instrument is not None else ()
        by_points = (
            high_by_points(check[0], "gravity", taken.raw, None, brix=True) if check else None
        )
        if by_points is not None:
            return by_points
        return check[0].reads_high_by.value if check and check[0].reads_high_by else 0.0
    kind = taken.quantity.kind if taken.figure.kind == "amount" else taken.figure.kind
    return reads_high_by(taken.instrument, kind, taken.raw)


def _counted_from(actual: Actual, taken: RawReading) -> Actual:
    """Return an actual whose correction counts from what was read, and says what was taken off."""
    correction = 0.0
    if actual.value is not None and not taken.is_brix:
        correction = actual.value - taken.raw
    name = actual.instrument.replace("_", " ")
    words = f"read {taken.quantity.text}; {name} reads off by its check"
    return dataclasses.replace(actual, raw=taken.raw, correction=correction, offset=words)


def _corrected(taken: RawReading) -> Actual:
    sample = taken.reading.sample_temperature
    if taken.is_brix:
        return _refractometer(taken)
    if taken.figure.kind == "gravity":
        return _hydrometer(taken)
    u = taken.uncertainty
    try:
        if taken.figure.kind == "volume" and sample is not None:
            value = float(cold_volume(taken.raw, sample.value))
            inputs = {"volume": taken.raw, "temperature": sample.value}
            return taken.corrected(value, u, "density.cold_volume", inputs)
        if taken.figure.kind == "ph" and sample is not None and sample.value > WARM_PH:
            value = float(room_temperature_ph(taken.raw, sample.value))
            inputs = {"ph": taken.raw, "sample_temperature": sample.value}
            return taken.corrected(value, u, "mash_ph.room_temperature_ph", inputs)
    except OutOfRange as error:
        return taken.actual(taken.raw, u, note=f"not corrected: {refusal(error, taken.system)}")
    return taken.actual(taken.raw, u)


def _hydrometer(taken: RawReading) -> Actual:
    """Gravity from a hydrometer or a density meter, at its reference temperature."""
    instrument, sample = taken.instrument, taken.reading.sample_temperature
    u = _gravity_uncertainty(taken)
    reference = REFERENCE
    if instrument is not None and instrument.reference_temperature is not None:
        reference = instrument.reference_temperature.value
    if sample is None and abs(reference - REFERENCE) <= 0.1:
        return taken.actual(taken.raw, u)
    at = REFERENCE if sample is None else sample.value
    try:
        value = float(hydrometer_correction(taken.raw, at, reference))
    except OutOfRange as error:
        return taken.actual(taken.raw, u, note=f"not corrected: {refusal(error, taken.system)}")
    inputs = {"sample_temperature": at}
    return taken.corrected(value, u, "density.hydrometer_correction", inputs)


def _gravity_uncertainty(taken: RawReading) -> float:
    """Return ±U in SG. An instrument graduated in degrees Plato has its step in those."""
    in_plato = reads_plato(taken.instrument) if taken.instrument else taken.quantity.unit == "P"
    return in_gravity(taken.uncertainty, taken.raw) if in_plato else taken.uncertainty


def _refractometer(taken: RawReading) -> Actual:
    """Gravity from a refractometer; in fermenting wort by way of the original extract."""
    given = taken.instrument.wort_factor if taken.instrument is not None else None
    factor = (
        ufloat(given.value, OWN_WORT_FACTOR_U / 2, "wort factor")
        if given is not None
        else ufloat(USUAL_WORT_FACTOR, USUAL_WORT_FACTOR_U / 2, "wort factor")
    )
    brix = ufloat(taken.raw, taken.uncertainty / 2, "reading")
    if taken.figure.key not in FERMENTING:
        found = gravity_from_extract(extract_from_brix(brix, factor))
        name = "refractometer.extract_from_brix"
        return taken.corrected(nominal(found), expanded_uncertainty(found), name)
    if taken.original is None:
        return taken.not_used("a refractometer needs the original gravity to read beer: not used")
    present = MODELS[taken.model]
    found = present(taken.original, brix, factor)
    name = f"refractometer.{present.__name__}"
    inputs = {"original_extract": taken.original, "brix": brix, "wort_factor": factor}
    return taken.corrected(nominal(found), expanded_uncertainty(found), name, inputs)
