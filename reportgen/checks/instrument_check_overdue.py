"""An instrument had not been checked within a year.

Thermometers drift, pH meters age and hydrometer papers slip. The stated uncertainty is that of the
last check.

Mend: check it against ice water, buffers or a reference, and write the day
Source: common practice, no source; 21 CFR 211.68 by analogy
Passes:
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
Fails:
    brewery: {instruments: {thermometer: {checked: 2024-01-02}}}
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TOGETHER
SEVERITY = Severity.NOTE


def check(batch: Assessment) -> Iterator[Said]:
    """Look at the last check of each instrument used."""
    day = batch.record.brew_day
    if day is None:
        return
    used = dict.fromkeys(a.instrument for a in batch.actuals.values() if a.instrument)
    for name in used:
        instrument = batch.brewery.instruments.get(name)
        if instrument is None or instrument.checked is None:
            continue
        age = (day.date.date - instrument.checked.date).days
        if age > 366:
            yield Said(
                instrument.checked.position,
                f"{name} was checked {age} days before the brew day",
                "within a year",
            )
