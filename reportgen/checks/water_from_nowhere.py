"""More wort in the kettle than liquor went in.

Grain keeps liquor back, at least half of what it usually keeps on this kit. If more comes out, a
volume was misread, a top-up was not written down, or a hot volume lacks its temperature.

Fix: check the volumes; write down the top-up liquor and the temperature of a hot volume
Source: conservation of mass
Passes:
    brew_day:
      date: 2026-03-14
      mash: {mash_liquor: 20 L}
      run_off: {sparge_liquor: 20 L, kettle_volume: 46.5 L}
      added: [{what: reservoir, amount: 13 L, to: mash}]
Fails:
    brew_day: {date: 2026-03-14, mash: {mash_liquor: 20 L}, run_off: {sparge_liquor: 20 L, kettle_volume: 46.5 L}}
"""

from reportgen.assessment.balance import liquor_to_kettle_full
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import volume
from reportgen.science.number import Number, expanded_uncertainty, nominal

GROUP = Group.MASH
SEVERITY = Severity.MINOR
CONTRADICTS = True

KEPT = 0.5
"""Least share of what the grain of a kit usually keeps that it keeps, pressed or drained for long.
Common practice, no source."""


def check(batch: Assessment) -> Remarks:
    """Compare the liquor in with the wort out, by the joint U of all of it."""
    needed = ("mash_liquor", "sparge_liquor", "kettle_volume")
    values = [batch.actuals.get(key) for key in needed]
    read: list[Number] = [v.number for v in values if v is not None and v.number is not None]
    if len(read) < len(needed):
        return
    case, top_up = batch.brewed, batch.actuals.get("top_up_liquor")
    into = read[0] + read[1] + liquor_to_kettle_full(batch)
    if top_up is not None and top_up.number is not None:
        into = into + top_up.number
    kept = KEPT * case.grain_absorption * case.grist
    gone = case.taken_from("mash") + case.taken_from("kettle_full")
    gained = read[2] + kept + gone - into
    if nominal(gained) > expanded_uncertainty(gained):
        yield Remark(
            batch.actuals["kettle_volume"].reading.position,
            f"{volume(nominal(read[2]), batch)} in the kettle from"
            f" {volume(nominal(into), batch)} of liquor",
            f"less than {volume(nominal(into - kept - gone), batch)}, as the grain keeps some",
        )
