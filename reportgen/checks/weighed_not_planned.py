"""Something was weighed that the plan does not have.

Either the plan was changed on the day and not written, or the item's name was picked wrongly.

Fix: add it to the plan as a new revision, or correct the name
Source: the record against itself
Passes:
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7.0 kg}]}
Fails:
    brew_day: {date: 2026-03-14, weighed: [{item: white_sugar, amount: 0.5 kg}]}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.STORE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the items weighed with those planned."""
    day = batch.record.brew_day
    if day is None:
        return
    plan = batch.record.plan
    planned = {str(g.malt) for g in plan.grist} | {str(s.sugar) for s in plan.sugars}
    planned |= {str(h.hop) for h in plan.all_hops}
    planned |= {str(s.salt) for s in plan.liquor.salts} | {str(a.acid) for a in plan.liquor.acids}
    planned |= {str(f.fining) for f in (*plan.boil.finings, *plan.fermentation.finings)}
    planned.add(str(plan.pitch.yeast))
    for entry in day.weighed:
        if str(entry.item) not in planned:
            yield Remark(entry.item.position, f"{entry.item} is not in the plan")
