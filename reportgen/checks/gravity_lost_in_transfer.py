"""Original gravity and cast-out gravity disagree.

Nothing but temperature and mixing changes wort between kettle and fermenter, unless liquor was
added. A difference that both instruments can tell is a misreading of one of the two.

Fix: read both from cool, well mixed samples; write down liquor that was added
Afterwards: write down liquor that was added; next time read both from cool, well mixed samples
Source: conservation of extract
Passes:
    brew_day:
      date: 2026-03-14
      boil: {ended: 13:00, cast_out_volume: 42 L, cast_out_gravity: 1.055}
      pitch: {original_gravity: 1.049}
      added: [{what: reservoir, amount: 5 L, to: kettle, at: 13:10}]
Fails:
    brew_day: {date: 2026-03-14, boil: {cast_out_gravity: 1.055}, pitch: {original_gravity: 1.046}}
"""

from collections.abc import Iterator

from msgspec.structs import replace

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.checks.quantities import gravity_read
from reportgen.forecast.figures import Stage
from reportgen.forecast.pitch import after_boil
from reportgen.record.finding import Severity
from reportgen.science.number import nominal

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
UNTIL = Stage.PITCH


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare cast-out and original gravity."""
    before, after = batch.actuals.get("cast_out_gravity"), batch.actuals.get("original_gravity")
    if before is None or after is None or before.value is None or after.value is None:
        return
    expected = before.value
    boiled = batch.now.expected.get("cast_out_volume")
    if boiled is not None:
        # What went into the fermenter before its gravity was read is in that reading as well.
        liquor = (
            replace(m, to="cast_out") if m.to == "fermenter" and not m.after_reading else m
            for m in batch.brewed.liquor_added
        )
        case = replace(batch.brewed, liquor_added=tuple(liquor))
        expected = nominal(after_boil(boiled.value, before.value, case)[0])
    apart = abs(after.value - expected)
    if apart > 2 * (before.uncertainty + after.uncertainty) and apart > 0.002:
        yield Remark(
            after.reading.position,
            f"{gravity_read(after)} in the fermenter, {gravity_read(before)} at cast-out",
            f"{expected:.4f} ±{before.uncertainty + after.uncertainty:.4f}",
        )
