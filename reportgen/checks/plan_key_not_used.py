"""The plan has a key that the way chosen does not use.

The first rest is reached by strike; the liquor of an infusion has a temperature; what is drawn and
boiled is that of a decoction. A bag is squeezed, batches are counted, and nothing is sparged with
where there is no sparge. Such a key is not counted: it is left from another plan, or the way is not
the one that was meant.

Fix: delete the key, or choose the way it belongs to
Afterwards: delete the key
Source: the record's format
Passes:
    plan:
      mash:
        rests:
          - {temperature: 52 C, time: 15 min}
          - {temperature: 66 C, time: 60 min, reached_by: infusion, liquor_temperature: 98 C}
Fails:
    plan:
      mash:
        rests:
          - {temperature: 52 C, time: 15 min}
          - {temperature: 66 C, time: 60 min, reached_by: heat, liquor_temperature: 98 C}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.forecast.figures import Stage
from reportgen.record.finding import Severity

GROUP = Group.MASH
SEVERITY = Severity.MINOR
UNTIL = Stage.RUN_OFF

USED_BY = {
    "liquor_temperature": "infusion", "decoction": "decoction", "decoction_boil": "decoction",
}  # fmt: skip


def check(batch: Assessment) -> Iterator[Remark]:
    """Look for keys of mash and run-off that go with another way."""
    plan = batch.record.plan
    for number, rest in enumerate(plan.mash.rests):
        way = str(rest.reached_by or "infusion") if number else "strike"
        for key in (*USED_BY, *(() if number else ("reached_by",))):
            value = getattr(rest, key)
            if value is not None and USED_BY.get(key) != way:
                yield Remark(
                    value.position, f"`{key}` of a rest that is reached by {way} is not used"
                )
    run_off = plan.run_off
    for key, value, way in (
        ("bag", run_off.bag, "bag"),
        ("sparge_batches", run_off.sparge_batches, "batch"),
    ):
        if value is not None and run_off.sparge != way:
            yield Remark(
                value.position, f"`{key}` of a run-off with `sparge: {run_off.sparge}` is not used"
            )
    liquor = plan.liquor.sparge_liquor
    if liquor is not None and run_off.sparge == "none":
        yield Remark(liquor.position, "`sparge_liquor` of a run-off with no sparge is not used")
