"""A time before the end of the boil stands where nothing is boiled.

Hops in the hop stand stay from its beginning to its end. Finings and sugar in the fermenter are
not boiled. A time beside them is not counted. Either the addition belongs in the boil, or the
time comes from another plan.

Fix: delete the time, or move the addition to `boil`
Source: the record's format
Passes:
    plan: {fermentation: {finings: [{fining: carrageenan, amount: 3 g}]}}
Fails:
    plan: {fermentation: {finings: [{fining: carrageenan, amount: 3 g, time: 10 min}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.BOIL
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for times in the hop stand and in the fermenter."""
    plan = batch.record.plan
    for place, items in (
        ("the hop stand", [(h.hop, h.time) for h in plan.steeped_hops]),
        ("the fermenter", [(f.fining, f.time) for f in plan.fermentation.finings]),
        ("the fermenter", [(s.sugar, s.time) for s in plan.sugars if s.to == "fermenter"]),
    ):
        for name, time in items:
            if time is not None:
                yield Remark(time.position, f"{name} in {place} has a time of {time.text}")
