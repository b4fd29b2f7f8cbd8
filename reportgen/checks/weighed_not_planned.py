"""Something was weighed that the plan does not have.

Either it went in beyond the plan, or in place of something that was out, or the item's name was
picked wrongly. Under `weighed` stand the amounts of the plan: malt that the plan does not have is
counted into the mash, of anything else it is not known where it went. What was replaced counts as
planned until its weight is `not done because …`.

Fix: correct the name, or write what went in under `added`
Source: the record against itself
Passes:
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7.0 kg}]}
Fails:
    brew_day: {date: 2026-03-14, weighed: [{item: white_sugar, amount: 0.5 kg}]}
"""

from reportgen.assessment.additions import thing
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.brew_day import Weighed

GROUP = Group.STORE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Compare the items weighed with those planned."""
    day = batch.record.brew_day
    if day is None:
        return
    plan = batch.record.plan
    planned = {str(name) for name in (*(i.name for i in plan.ingredients), plan.pitch.yeast)}
    weighed = {str(entry.item) for entry in day.weighed}
    for entry in day.weighed:
        if (name := str(entry.item)) in planned:
            continue
        kind = thing(name, batch.brewery, batch.stock)
        said = f"{name} is not in the plan"
        if kind in ("hop", "sugar", "salt", "acid"):
            said += ", and moves no number"
        remedy = _OF_YEAST
        if kind in _WHERE:
            remedy = f"correct the name, or write it under `added`, with `at`: {_typed(entry, kind)}"
        # One of its kind that nobody weighed may be what it replaced.
        missing = [
            item for item in sorted(planned - weighed)
            if kind in _WHERE and thing(item, batch.brewery, batch.stock) == kind
        ]
        if len(missing) == 1:
            said += f"; {missing[0]}, not weighed, counts as planned"
            remedy += (
                f"; if it replaced {missing[0]}, write under `weighed`"
                f" {{item: {missing[0]}, amount: not done because {name} went in}}"
            )
        yield Remark(entry.item.position, said, remedy=remedy)


_WHERE = {
    "malt": "mash", "sugar": "kettle", "hop": "kettle", "salt": "mash", "acid": "mash",
    "fining": "kettle",
}  # fmt: skip
"""Where each kind of thing mostly goes."""
_OF_YEAST = "correct the name; if it was pitched, write it into the plan, as a new revision"


def _typed(entry: Weighed, kind: str) -> str:
    """Return an addition as it is typed into a record."""
    amount = entry.amount.value
    fields = [
        f"what: {entry.item}", f"amount: {amount.text if amount is not None else 'NOT RECORDED'}",
        f"to: {_WHERE[kind]}",
        *((f"lot: {entry.lot}",) if entry.lot is not None else ()),
    ]
    return f"{{{', '.join(fields)}}}"
