"""The yeast is pitched too warm.

Most of what yeast smells of it makes in the first day; warm wort then makes solventy, fusel beer,
and above 40 degrees the yeast dies. Hot weather is the usual cause: cool on in the fermenter before
pitching.

Mend: cool further before pitching; the wort keeps overnight in a clean, closed fermenter
Source: common practice, no source; limits of the yeast from stock.yaml
Passes:
    brew_day: {date: 2026-03-14, pitch: {pitch_temperature: 18.5 C}}
Fails:
    brew_day: {date: 2026-03-14, pitch: {pitch_temperature: 29 C}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.checks.quantities import temperature
from reportgen.record.finding import Severity

GROUP = Group.WISE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Compare pitching temperatures, planned and read, with what the yeast stands."""
    most = 25.0 if batch.case.yeast_kind == "ale" else 15.0
    yeast = batch.stock.yeasts[batch.record.plan.pitch.yeast]
    if yeast.highest_temperature is not None:
        most = yeast.highest_temperature.value + 2.0
    day = batch.record.brew_day
    pitch = day.pitch if day is not None else None
    reading = pitch.pitch_temperature if pitch is not None else None
    read = reading.value if reading is not None else None
    for wort in (batch.record.plan.cool.temperature, read):
        if wort is not None and wort.value > most:
            yield Said(
                wort.position,
                f"pitching at {temperature(wort.value, batch)}",
                f"at most {temperature(most, batch)} for this yeast",
                severity=Severity.MAJOR if wort.value > 35 else None,
            )
