"""The plan has a key that its way of mashing or running off does not use.

The first rest is reached by strike liquor. Only an infusion has a liquor, only a decoction is
drawn and boiled. Only a bag is squeezed, only batches are counted, and `sparge: none` has no
sparge liquor. Any other key is not counted: it comes from another plan, or the plan chose the
wrong way.

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

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.MASH
SEVERITY = Severity.MINOR
UNTIL = Stage.RUN_OFF

USED_BY = {
    "liquor_temperature": "infusion", "decoction": "decoction", "decoction_boil": "decoction",
}  # fmt: skip


def check(batch: Assessment) -> Remarks:
    """Look for keys of mash and run-off that go with another way."""
    plan = batch.record.plan
    for number, rest in enumerate(plan.mash.rests):
        way = str(rest.reached_by or "infusion") if number else "strike"
        for key in (*USED_BY, *(() if number else ("reached_by",))):
            value = getattr(rest, key)
            if value is not None and USED_BY.get(key) != way:
                yield Remark(
                    value.position, f"`{key}` is not used: the rest is reached by {way}"
                )
    run_off = plan.run_off
    for key, value, way in (
        ("bag", run_off.bag, "bag"),
        ("sparge_batches", run_off.sparge_batches, "batch"),
    ):
        if value is not None and run_off.sparge != way:
            yield Remark(
                value.position, f"`{key}` is not used with `sparge: {run_off.sparge}`"
            )
    for other in plan.packaging.also:
        if other.carbonation is not None and not other.is_apart:
            yield Remark(
                other.carbonation.position,
                f"`carbonation` is not used: they are filled from the {other.from_}",
            )
    liquor = plan.liquor.sparge_liquor
    if liquor is not None and run_off.sparge == "none":
        yield Remark(liquor.position, "`sparge_liquor` is not used with `sparge: none`")
