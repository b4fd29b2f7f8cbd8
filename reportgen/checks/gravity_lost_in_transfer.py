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

from msgspec.structs import replace

from reportgen.assessment.corrections import Actual
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import gravity_read, volume
from reportgen.forecast.pitch import after_boil, diluted_by
from reportgen.science.extract import gravity_after_topping_up
from reportgen.science.number import nominal

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
UNTIL = Stage.PITCH
CONTRADICTS = True

SHARE_U = 0.3
"""Share of the liquor reckoned from two gravities by which the volume may differ from it."""


def check(batch: Assessment) -> Remarks:
    """Compare cast-out and original gravity."""
    apart = _apart(batch)
    if apart is None:
        return
    before, after, expected, u = apart
    yield Remark(
        after.reading.position,
        f"{gravity_read(after)} in the fermenter, {gravity_read(before)} at cast-out",
        f"{expected:.4f} ±{u:.4f}",
        _liquor(batch),
    )


def came_in(batch: Assessment) -> float | None:
    """Return the liquor, L, that would have thinned the wort as it was read; None if it was not.

    None too where the volume read in the fermenter does not have it.
    """
    apart = _apart(batch)
    boiled, filled = (batch.actuals.get(k) for k in ("cast_out_volume", "fermenter_volume"))
    if apart is None or boiled is None or filled is None:
        return None
    _, after, expected, _ = apart
    if boiled.value is None or filled.value is None or not 1 < (after.value or 0) < expected:
        return None
    wort = boiled.value + nominal(diluted_by(batch.now))
    more = wort * ((expected - 1) / ((after.value or 0) - 1) - 1)
    held = wort + more - nominal(batch.brewed.kettle_loss + batch.brewed.wort_to_others)
    u = boiled.uncertainty + filled.uncertainty + SHARE_U * more
    return more if abs(filled.value - held) <= u and more > boiled.uncertainty else None


def _liquor(batch: Assessment) -> str:
    more = came_in(batch)
    if more is None and nominal(diluted_by(batch.now)) > 0:
        return (
            "if wort and liquor lay in layers when it was read, write NOT RECORDED: the masses "
            "then say what it was; else compare both readings and the liquor"
        )
    if more is None:
        return ""
    name = str(batch.record.plan.liquor.blend[0].liquor)
    amount = volume(more, batch)
    return (
        f"if {amount} of liquor came in, write under `brew_day: added:` "
        f"- {{what: {name}, amount: {amount}, to: kettle, at: HH:MM}}; else compare both readings"
    )


def _apart(batch: Assessment) -> tuple[Actual, Actual, float, float] | None:
    """Return both readings, what was to be expected in the fermenter and its ±U, if they differ."""
    before, after = batch.actuals.get("cast_out_gravity"), batch.actuals.get("original_gravity")
    if before is None or after is None or before.value is None or after.value is None:
        return None
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
        poured = nominal(diluted_by(batch.now))
        if poured > 0:
            wort = boiled.value + nominal(case.added_to("cast_out") - case.kettle_loss)
            expected = nominal(gravity_after_topping_up(wort, expected, poured))
    apart, u = abs(after.value - expected), before.uncertainty + after.uncertainty
    return (before, after, expected, u) if apart > 2 * u and apart > 0.002 else None
