"""The boil is short for very pale malt.

Pale lager malt carries much of what turns into dimethyl sulfide, the smell of boiled vegetables.
The boil breaks it down and drives it off; too short a boil, or wort kept hot under a lid, leaves it
in the beer.

Fix: boil longer, or cool at once and without a lid
Source: half-life of the precursor; see the method boil.dms_precursor_left
Passes:
    plan: {grist: [{malt: lager, amount: 7 kg}], boil: {time: 90 min}}
    stock: {malts: {lager: {malt_class: pilsner, extract: 80 %, colour: 3 EBC}}}
Fails:
    plan: {grist: [{malt: lager, amount: 7 kg}], boil: {time: 30 min, hops: []}}
    stock: {malts: {lager: {malt_class: pilsner, extract: 80 %, colour: 3 EBC}}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.science.boil import dms_precursor_left
from reportgen.science.number import nominal

GROUP = Group.BOIL
SEVERITY = Severity.NOTE
UNTIL = Stage.BOIL


def check(batch: Assessment) -> Remarks:
    """Compute what is left of the precursor when half the grist is lager malt."""
    pale = sum(nominal(m.amount) for m in batch.case.malts if m.malt_class == "pilsner")
    if pale < 0.5 * nominal(batch.case.grist):
        return
    left = nominal(dms_precursor_left(nominal(batch.case.boil_minutes)))
    if left > 0.40:
        yield Remark(
            batch.record.plan.boil.time.position,
            f"{left:.0%} of the precursor is left after {nominal(batch.case.boil_minutes):g} min",
            "at most 40 %, about an hour",
        )
