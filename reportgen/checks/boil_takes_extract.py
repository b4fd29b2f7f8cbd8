"""The wort got weaker in the boil.

Boiling makes wort stronger. A lower gravity at cast-out than at kettle full means a hot sample,
poor mixing before the first reading, or liquor added and not written down.

Fix: cool the sample; write down liquor that was added
Afterwards: write down liquor that was added; next time cool the sample
Source: conservation of extract
Passes:
    brew_day:
      date: 2026-03-14
      run_off: {kettle_gravity: 1.049}
      boil: {cast_out_gravity: 1.044}
      added: [{what: reservoir, amount: 9 L, to: kettle}]
Fails:
    brew_day: {date: 2026-03-14, run_off: {kettle_gravity: 1.052}, boil: {cast_out_gravity: 1.045}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import gravity_read
from reportgen.science.number import nominal

GROUP = Group.BOIL
SEVERITY = Severity.MINOR
UNTIL = Stage.BOIL
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Compare the gravities before and after the boil."""
    before, after = batch.actuals.get("kettle_gravity"), batch.actuals.get("cast_out_gravity")
    if before is None or after is None or before.value is None or after.value is None:
        return
    # Liquor that was written down has weakened it; without the volumes the least that is left is
    # not known, and the check of the extract says more.
    if nominal(batch.brewed.added_to("kettle")) > 0:
        return
    if after.value + after.uncertainty < before.value - before.uncertainty:
        yield Remark(
            after.reading.position,
            f"{gravity_read(after)} at cast-out, {gravity_read(before)} before the boil",
            f"above {before.value:.4f}",
        )
