"""An instrument had not been checked within a year.

Thermometers drift, pH meters age and hydrometer papers slip. The stated uncertainty is that of
the last check. If an instrument has a list of checks, the latest before the brew day counts. If
many instruments were first checked after the brew day, one finding names them all.

Fix: check it against ice water, buffers or a reference, and write the day
Source: common practice, no source; 21 CFR 211.68 by analogy
Passes:
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
Fails:
    brewery: {instruments: {thermometer: {checked: 2024-01-02}}}
    brew_day: {date: 2026-03-14, mash: {mash_temperature: 66 C}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.values import Day

GROUP = Group.READINGS
SEVERITY = Severity.NOTE

MANY = 3
"""Instruments without a check before the day, from which on the day may be the wrong one."""


def check(batch: Assessment) -> Remarks:
    """Look at the last check of each instrument used."""
    day = batch.record.brew_day
    if day is None:
        return
    unchecked: list[tuple[str, Day]] = []
    used = dict.fromkeys(a.instrument for a in batch.actuals.values() if a.instrument)
    for name in used:
        instrument = batch.brewery.instruments.get(name)
        if instrument is None:
            continue
        if instrument.checked is None:
            checks = batch.archive.brewery.instruments[name].checks if batch.archive.brewery else ()
            if checks:
                unchecked.append((name, min((c.on for c in checks), key=lambda on: on.date)))
            continue
        age = (day.date.date - instrument.checked.date).days
        if age > 366:
            yield Remark(
                instrument.checked.position,
                f"{name} was checked {age} days before the brew day",
                "within a year",
            )

    if len(unchecked) >= MANY:
        first = min((on for _, on in unchecked), key=lambda on: on.date)
        names = ", ".join(name for name, _ in unchecked)
        yield Remark(
            day.date.position,
            f"all of {names} were first checked after the brew day",
            f"{first} or later, or checks before it",
            "compare the date with the sheet, or write the earlier checks",
        )
        return
    for name, on in unchecked:
        yield Remark(
            on.position,
            f"{name} was first checked on {on}, after the brew day",
            "a check before it is read",
        )
