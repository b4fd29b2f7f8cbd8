"""An instrument had not been checked within a year.

Thermometers drift, pH meters age and hydrometer papers slip. The stated uncertainty is that of the
last check. Of an instrument with a list of checks the latest before the brew day counts.

Fix: check it against ice water, buffers or a reference, and write the day
Source: common practice, no source; 21 CFR 211.68 by analogy
Passes:
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
Fails:
    brewery: {instruments: {thermometer: {checked: 2024-01-02}}}
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity
from reportgen.record.model.brewery import Instrument

GROUP = Group.READINGS
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Remark]:
    """Look at the last check of each instrument used."""
    day = batch.record.brew_day
    if day is None:
        return
    used = dict.fromkeys(a.instrument for a in batch.actuals.values() if a.instrument)
    for name in used:
        instrument = batch.brewery.instruments.get(name)
        if instrument is None:
            continue
        if instrument.checked is None:
            if batch.archive.brewery is not None:
                yield from _not_yet(batch.archive.brewery.instruments[name], name)
            continue
        age = (day.date.date - instrument.checked.date).days
        if age > 366:
            yield Remark(
                instrument.checked.position,
                f"{name} was checked {age} days before the brew day",
                "within a year",
            )


def _not_yet(instrument: Instrument, name: str) -> Iterator[Remark]:
    """Say so when all checks of an instrument came after the brew day."""
    if instrument.checks:
        first = min(instrument.checks, key=lambda c: c.on.date)
        yield Remark(
            first.on.position,
            f"{name} was first checked on {first.on}, after the brew day",
            "a check before it is read",
        )
