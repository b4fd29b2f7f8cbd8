"""More extract was dissolved than the malt holds.

No mash converts more than all of its extract, and no run-off rinses out all of it. If the kettle
holds more, a weight of malt, a volume or a gravity is wrong. The first wort is where its gravity would
mean that more was rinsed out than was dissolved. The efficiency may still be below
100 %, since the spent grain keeps some of the wort.

Fix: check the weight and the lot of each malt, then the volume and the gravity
Source: conservation of mass; how well a run-off is known, as its page says
Passes:
    brew_day: {date: 2026-03-14, run_off: {kettle_volume: 46.5 L, kettle_gravity: 1.044}}
Fails:
    brew_day: {date: 2026-03-14, run_off: {sparge_liquor: 10 L, kettle_volume: 28 L, kettle_gravity: 1.072}}
"""

from reportgen.assessment.corrections import Actual
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import gravity_read
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.MASH
SEVERITY = Severity.MINOR
CONTRADICTS = True

POOR = 0.85
"""Conversion below which the mash, or the first wort, is at fault (common practice, no source)."""

def is_over_all(share: Actual | None) -> bool:
    """Whether a share is more than all there is, and not by its U alone."""
    return share is not None and share.value is not None and share.value - share.uncertainty > 1.0


def is_poor(conversion: Actual | None) -> bool:
    """Whether much of the extract was not dissolved, and not by the U of the first wort alone."""
    return (
        conversion is not None and conversion.value is not None
        and conversion.value + conversion.uncertainty < POOR
    )


def check(batch: Assessment) -> Remarks:
    """Look at the conversion that the kettle implies."""
    first = batch.actuals.get("conversion")
    if is_over_all(first):
        # The first wort says it already.
        return
    rinsed, read = batch.actuals.get("lauter_efficiency"), batch.actuals.get("first_wort_gravity")
    if is_poor(first) and is_over_all(rinsed) and rinsed is not None and read is not None:
        yield Remark(
            read.reading.position,
            f"by the first wort {gravity_read(read)} the run-off brought {rinsed.value:.0%} of what"
            " was dissolved",
            "at most 100 %", "compare with the sheet; next time read a well stirred sample",
        )
        return
    kettle, now = batch.actuals.get("mash_efficiency"), batch.now.expected
    gravity = batch.actuals.get("kettle_gravity")
    if (
        kettle is None or kettle.number is None or gravity is None
        or "lauter_efficiency" not in now or not now["lauter_efficiency"].value
    ):
        return
    implied = kettle.number / now["lauter_efficiency"].number
    u = expanded_uncertainty(implied)
    # Beyond 100 % of the grist itself the check of the kettle says it.
    if nominal(kettle.number) - kettle.uncertainty > 1.0:
        return
    if nominal(implied) - u > 1.0:
        yield Remark(
            gravity.reading.position,
            f"the kettle would mean {nominal(implied):.0%} ±{u:.0%} conversion",
            "at most 100 %",
        )
