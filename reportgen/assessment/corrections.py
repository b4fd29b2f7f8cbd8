"""What a reading stands for: corrections for temperature and instrument, and the ±U left."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.instruments import in_gravity, reads_high_by, reads_plato
from reportgen.forecast.arguments import why_stopped
from reportgen.forecast.figures import Figure
from reportgen.record.model.brewery import Instrument
from reportgen.record.values import Reading
from reportgen.science.density import (
    cold_volume,
    gravity_from_extract,
    hydrometer_correction,
)
from reportgen.science.mash_ph import room_temperature_ph
from reportgen.science.method import REFUSED, own_uncertainty
from reportgen.science.number import Number, expanded_uncertainty, nominal, ufloat
from reportgen.science.refractometer import DEFAULT, MODELS, extract_from_brix

NOTHING: Mapping[str, Number] = MappingProxyType({})

WARM_PH = 30.0
"""Above this sample temperature a pH reading is brought to room temperature, degC."""

USUAL_WORT_FACTOR, USUAL_WORT_FACTOR_U = 1.04, 0.03
OWN_WORT_FACTOR_U = 0.01
"""±U (k = 2) of the factor: page of ``refractometer.extract_from_brix``."""
REFERENCE = 20.0
"""Reference temperature of a hydrometer that states none, degC."""


class Actual(Struct, frozen=True):
    """What a reading stands for, in the base unit of its figure.

    ``number`` is corrected and carries the instrument's uncertainty; None when there is no value.
    ``raw`` is what was read, ``correction`` what was added to it, ``method`` the calculation that
    did it, ``note`` says why it is not used. ``instrument`` is its name in
    the brewery. ``offset`` says what was taken off since the instrument reads too high.
    ``derived_from`` names the readings of an actual that no instrument reads. ``analysed`` is the
    day of the analysis of the beer that gave it; empty for a reading of the brewer's own.
    ``made_of`` says what it was added up from.
    """

    key: str
    reading: Reading
    number: Number | None = None
    raw: float | None = None
    correction: float = 0.0
    method: str = ""
    instrument: str = ""
    instrument_is_known: bool = False
    note: str = ""
    derived_from: tuple[str, ...] = ()
    offset: str = ""
    analysed: str = ""
    made_of: str = ""

    @property
    def value(self) -> float | None:
        """The plain value, or None."""
        return None if self.number is None else nominal(self.number)

    @property
    def uncertainty(self) -> float:
        """±U (k = 2); 0 when there is no value."""
        return 0.0 if self.number is None else expanded_uncertainty(self.number)


class Means(Struct, frozen=True):
    """What a reading of a figure is corrected by.

    ``kind`` and ``unit`` are those it was read in. ``uncertainty`` is the ±U of the instrument, in
    its unit, ``sample`` the true temperature of the sample, degC. ``original`` is the original
    extract in degP, which a refractometer needs once there is alcohol, and ``model`` the one by
    which it is then taken. ``system`` are the units of the house, for what is said of a reading
    that cannot be corrected.
    """

    figure: Figure
    kind: str
    unit: str
    instrument: Instrument | None
    uncertainty: float
    sample: float | None = None
    original: Number | None = None
    model: str = DEFAULT
    system: str = "metric"

    @property
    def is_brix(self) -> bool:
        """Whether a refractometer read it."""
        return self.unit == "Bx"


def correct(read: Actual, raw: float, by: Means) -> Actual:
    """Return an actual with the number that its reading stands for.

    ``raw`` is what was read, in the base unit; degrees Brix stay what they are. What no formula
    covers is not used, and the note says why: a hydrometer in wort of 75 degC reads some 0.02 low.
    """
    offset = reads_high_by(by.instrument, by.kind, raw, by.is_brix)
    try:
        corrected = _corrected(read, raw - offset, by)
    except REFUSED as error:
        return replace(read, raw=raw, note=f"not used: {why_stopped(error, by.system)}")
    correction = 0.0
    # Brix and gravity are not of one kind, so neither is the difference of the other.
    if corrected.number is not None and not by.is_brix:
        correction = nominal(corrected.number) - raw
    words = ""
    if offset and read.reading.value is not None:
        name = read.instrument.replace("_", " ")
        words = f"read {read.reading.value.text}; corrected by the check of {name}"
    return replace(corrected, raw=raw, correction=correction, offset=words)


def _stands_for(
    read: Actual, value: float, uncertainty: float, method: str = "",
    inputs: Mapping[str, Number] = NOTHING,
) -> Actual:
    """Return an actual with its value and ±U, in the base unit of its figure.

    What a formula made of it has the U of that formula as well.
    """
    if method:
        uncertainty = (uncertainty**2 + own_uncertainty(method, value, inputs) ** 2) ** 0.5
    return replace(read, number=ufloat(value, uncertainty / 2, read.key), method=method)


def _corrected(read: Actual, value: float, by: Means) -> Actual:
    if by.is_brix:
        return _refractometer(read, value, by)
    if by.figure.kind == "gravity":
        return _hydrometer(read, value, by)
    sample, u = by.sample, by.uncertainty
    if by.figure.kind == "volume" and sample is not None:
        cold = float(cold_volume(value, sample))
        inputs = {"volume": value, "temperature": sample}
        return _stands_for(read, cold, u, "density.cold_volume", inputs)
    if by.figure.kind == "ph" and sample is not None and sample > WARM_PH:
        at_room = float(room_temperature_ph(value, sample))
        inputs = {"ph": value, "sample_temperature": sample}
        return _stands_for(read, at_room, u, "mash_ph.room_temperature_ph", inputs)
    return _stands_for(read, value, u)


def _hydrometer(read: Actual, value: float, by: Means) -> Actual:
    """Gravity from a hydrometer or a density meter, at its reference temperature."""
    # An instrument graduated in degrees Plato has its step in those.
    in_plato = reads_plato(by.instrument) if by.instrument else by.unit == "P"
    u = in_gravity(by.uncertainty, value) if in_plato else by.uncertainty
    reference = REFERENCE
    if by.instrument is not None and by.instrument.reference_temperature is not None:
        reference = by.instrument.reference_temperature.value
    if by.sample is None and abs(reference - REFERENCE) <= 0.1:
        return _stands_for(read, value, u)
    at = REFERENCE if by.sample is None else by.sample
    true = float(hydrometer_correction(value, at, reference))
    return _stands_for(read, true, u, "density.hydrometer_correction", {"sample_temperature": at})


def _refractometer(read: Actual, value: float, by: Means) -> Actual:
    """Gravity from a refractometer; in fermenting wort by way of the original extract."""
    given = by.instrument.wort_factor if by.instrument is not None else None
    factor = (
        ufloat(given.value, OWN_WORT_FACTOR_U / 2, "wort factor")
        if given is not None
        else ufloat(USUAL_WORT_FACTOR, USUAL_WORT_FACTOR_U / 2, "wort factor")
    )
    brix = ufloat(value, by.uncertainty / 2, "reading")
    if not by.figure.has_alcohol:
        gravity = gravity_from_extract(extract_from_brix(brix, factor))
        name = "refractometer.extract_from_brix"
        return _stands_for(read, nominal(gravity), expanded_uncertainty(gravity), name)
    if by.original is None:
        note = "a refractometer needs the original gravity to read beer: not used"
        return replace(read, note=note)
    present = MODELS[by.model]
    gravity = present(by.original, brix, factor)
    inputs = {"original_extract": by.original, "brix": brix, "wort_factor": factor}
    name = f"refractometer.{present.__name__}"
    return _stands_for(read, nominal(gravity), expanded_uncertainty(gravity), name, inputs)
