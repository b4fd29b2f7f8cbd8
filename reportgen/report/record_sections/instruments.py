"""The instruments that were read: how good each is, and when it was last checked."""

from __future__ import annotations

from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.record.model.brewery import Instrument


class InstrumentRow(NamedTuple):
    """One instrument that was read."""

    name: str
    description: str
    uncertainty: str
    checked: str
    note: str


def instrument_lines(assessment: Assessment) -> tuple[InstrumentRow, ...]:
    """Return the instruments of the readings, in the order in which they were used."""
    every = [a for kind in assessment.packed_as for a in kind.actuals.values()]
    used = dict.fromkeys(a.instrument for a in every if a.instrument)
    known = {a.instrument for a in every if a.instrument_is_known}
    # A reading that was forgotten has an instrument, but none that was used.
    known |= {a.instrument for a in every if a.reading.value is None}
    lines = []
    for name in used:
        instrument = assessment.brewery.instruments.get(name)
        if instrument is None:
            lines.append(InstrumentRow(name, "not in brewery.yaml", "", "", ""))
            continue
        if name not in known:
            lines.append(InstrumentRow(name.replace("_", " "), "reads another kind", "", "", ""))
            continue
        stated = instrument.uncertainty or instrument.resolution
        lines.append(
            InstrumentRow(
                name.replace("_", " "),
                _description(instrument),
                f"±{stated.text}" if instrument.uncertainty else f"reads to {stated.text}",
                str(instrument.checked or "never"),
                str(instrument.check_note or "").rstrip("."),
            )
        )
    return tuple(lines)


def _description(instrument: Instrument) -> str:
    """Return what an instrument is, and that it corrects for temperature where it does."""
    words = str(instrument.description or instrument.reads)
    corrects = str(instrument.corrects_temperature or "") == "yes"
    return f"{words}; corrects for temperature" if corrects else words
