"""The analysis of the packed beer: what was measured of it stands before what is computed."""

from __future__ import annotations

from reportgen.assessment.corrections import Actual
from reportgen.forecast.figures import ANALYSED
from reportgen.record.model.batch import Record
from reportgen.record.units import Quantity
from reportgen.record.values import Reading, State
from reportgen.science.measurement import reading_uncertainty
from reportgen.science.number import ufloat


def analysed(record: Record) -> dict[str, Actual]:
    """Return the actuals that the analysis of the packed beer gives, by their figure's key.

    Their ±U (k = 2) is the one stated beside each, else that of the last figure written.
    """
    analysis = record.analysis
    if analysis is None:
        return {}
    actuals = {}
    for figure in ANALYSED:
        reading: Reading | None = getattr(analysis, figure.key)
        if reading is not None:
            stated: Quantity | None = getattr(analysis, f"{figure.key}_uncertainty")
            actuals[figure.key] = _actual(figure.key, reading, stated, str(analysis.date))
    return actuals


def _actual(key: str, reading: Reading, stated: Quantity | None, day: str) -> Actual:
    if reading.state is not State.READ or reading.value is None:
        return Actual(key, reading, analysed=day)
    standard = float(reading_uncertainty(
        reading.value.step, stated.value if stated is not None else None
    ))
    number = ufloat(reading.value.value, standard, f"{key} by analysis")
    return Actual(key, reading, number, raw=reading.value.value, analysed=day)
