"""The yeast is pitched too warm.

Yeast forms most of its aroma on the first day; warm wort then makes solventy, fusel beer,
and above 40 degrees the yeast dies. Hot weather is the usual cause: cool on in the fermenter before
pitching.

Fix: cool further before pitching; the wort keeps overnight in a clean, closed fermenter
Afterwards: look for solvent and fruit in the tasting; next time cool further before pitching
Source: common practice, no source; limits of the yeast from stock.yaml
Passes:
    brew_day: {date: 2026-03-14, pitch: {pitch_temperature: 18.5 C}}
Fails:
    brew_day: {date: 2026-03-14, pitch: {pitch_temperature: 29 C}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import as_read, temperature
from reportgen.checks.when import is_over
from reportgen.record.finding import Position

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "above 35 °C"}
UNTIL = Stage.PITCH
FIGURE = "pitch_temperature"


def check(batch: Assessment) -> Remarks:
    """Compare pitching temperatures, planned and read, with what the yeast stands."""
    most = 25.0 if batch.case.yeast_kind == "ale" else 15.0
    yeast = batch.stock.yeasts[batch.record.plan.pitch.yeast]
    if yeast.highest_temperature is not None:
        most = yeast.highest_temperature.value + 2.0
    planned = batch.record.plan.cool.pitch_temperature
    if planned.value > most:
        yield _said(planned.position, planned.value, "", most, batch)
    read = batch.actuals.get("pitch_temperature")
    if read is not None and read.value is not None and read.value - read.uncertainty > most:
        shown = as_read(read, temperature(read.value, batch))
        yield _said(read.reading.position, read.value, shown, most, batch)


def _said(
    where: Position | None, value: float, shown: str, most: float, batch: Assessment
) -> Remark:
    """Say that wort is too warm. ``shown`` is empty for the planned temperature."""
    remedy = ""
    if shown and not is_over(batch.record, Stage.PITCH):
        remedy = "cool the fermenter to the planned temperature now; if the yeast is dead, pitch anew"
    return Remark(
        where,
        f"{'pitched' if shown else 'pitching'} at {shown or temperature(value, batch)}",
        f"at most {temperature(most, batch)} for this yeast",
        remedy,
        Severity.MAJOR if value > 35 else None,
    )
