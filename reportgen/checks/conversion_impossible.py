"""More extract was dissolved than the malt holds.

No mash converts more than all of its extract, and no run-off rinses out all of it. If the kettle
holds more, a weight of malt, a volume or a gravity is wrong. The efficiency may still be below
100 %, since the spent grain keeps some of the wort.

Fix: check the weight and the lot of each malt, then the volume and the gravity
Source: conservation of mass; how well a run-off is known, as its page says
Passes:
    brew_day: {date: 2026-03-14, run_off: {kettle_volume: 46.5 L, kettle_gravity: 1.044}}
Fails:
    brew_day: {date: 2026-03-14, run_off: {sparge_liquor: 10 L, kettle_volume: 28 L, kettle_gravity: 1.072}}
"""



from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.MASH
SEVERITY = Severity.MINOR

def check(batch: Assessment) -> Remarks:
    """Look at the conversion that the kettle implies."""
    first = batch.actuals.get("conversion")
    if first is not None and first.value is not None and first.value - first.uncertainty > 1.0:
        # The first wort says it already.
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
