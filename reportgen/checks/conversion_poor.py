"""Much of the malt's extract was not brought into solution.

The first wort is weak for this grist and liquor. A coarse crush, a wrong pH, dry lumps or too short
a rest are the usual causes; so is a sample that was not well mixed.

Fix: check the crush and the mixing; read a well stirred sample
Afterwards: check the crush and the mixing before the next brew
Source: common practice, no source for 85 %
Passes:
    brew_day: {date: 2026-03-14, mash: {first_wort_gravity: 1.086}}
Fails:
    brew_day: {date: 2026-03-14, mash: {first_wort_gravity: 1.070}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.conversion_impossible import is_over_all, is_poor
from reportgen.checks.quantities import gravity_read
from reportgen.checks.written_twice import twice_weighed

GROUP = Group.MASH
SEVERITY = Severity.NOTE
UNTIL = Stage.MASH
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Look at the conversion that the first wort implies."""
    conversion = batch.actuals.get("conversion")
    read = batch.actuals.get("first_wort_gravity")
    if conversion is None or conversion.value is None or read is None:
        return
    if any(name in batch.stock.malts for name in twice_weighed(batch)):
        # What is written twice is no more malt.
        return
    # A first wort that does not go with the kettle says nothing of the mash.
    if is_poor(conversion) and not is_over_all(batch.actuals.get("lauter_efficiency")):
        yield Remark(
            read.reading.position,
            f"first wort {gravity_read(read)} means {conversion.value:.0%} conversion",
            "at least 85 %",
        )
