"""The liquor of the plan makes much more or less wort than is planned.

If the plan fixes all liquor, as it does without a sparge or a mash, the volume in the fermenter
follows from it. A tenth is more than kit and grain can explain: a liquor is mistyped or from
another batch size. The strength is then wrong too.

Fix: correct the liquors, or delete `sparge_liquor` or the kettle's `top_up_liquor`: it is then what is needed
Source: the plan against its forecast; the tenth: common practice, no source
Passes:
    plan: {liquor: {mash_liquor: 24 L, sparge_liquor: 27 L, top_up_liquor: 4 L}}
Fails:
    plan: {liquor: {mash_liquor: 24 L, sparge_liquor: 2.7 L, top_up_liquor: 4 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import volume

GROUP = Group.RUN_OFF
SEVERITY = Severity.MINOR
UNTIL = Stage.RUN_OFF

SHARE = 0.1


def check(batch: Assessment) -> Remarks:
    """Compare the wort of the forecast with the wort planned."""
    sparge, top_up = batch.record.plan.liquor.sparge_liquor, batch.record.plan.liquor.top_up_liquor
    expected = batch.planned.expected.get("fermenter_volume")
    if expected is None or batch.case.portion is not None:
        return
    if batch.case.is_mashed and batch.case.rinses and sparge is None:
        # The sparge is what the kettle needs; where none is left for it, a check of its own speaks.
        return
    wanted = batch.record.plan.fermenter_volume.value - sum(
        given_away.value for given_away in batch.record.plan.wort_to_others.values()
    )
    if abs(expected.value - wanted) > max(SHARE * wanted, expected.uncertainty):
        plan = batch.record.plan.liquor
        given = [given_away for given_away in (sparge, top_up, plan.mash_liquor, plan.dilution_liquor) if given_away]
        largest = max(given, key=lambda given_away: given_away.value, default=batch.record.plan.fermenter_volume)
        yield Remark(
            largest.position,
            f"the liquor makes {volume(expected.value, batch)} of wort in the fermenter",
            f"about {volume(wanted, batch)}",
        )
