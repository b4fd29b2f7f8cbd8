"""A salt or an acid is meant for a liquor that the plan does not have.

Without a sparge there is no sparge liquor, without a mash no mash liquor. A dose for it is not
counted in the ions and the pH.

Fix: put it into the liquor that there is (`to`), or delete it
Source: balance of liquor
Passes:
    plan: {liquor: {salts: [{salt: gypsum, amount: 3 g, to: sparge}]}}
Fails:
    plan:
      liquor: {mash_liquor: 30 L, top_up_liquor: 20 L, salts: [{salt: gypsum, amount: 3 g, to: sparge}]}
      run_off: {sparge: none}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.LIQUOR
SEVERITY = Severity.MINOR
UNTIL = Stage.RUN_OFF


def check(batch: Assessment) -> Remarks:
    """Look for doses of a mash or a sparge that there is not."""
    case, plan = batch.case, batch.record.plan
    sparge = batch.planned.expected.get("sparge_liquor")
    there = {
        "mash": case.is_mashed,
        # A sparge that is computed and comes to nothing is said by sparge-without-liquor.
        "sparge": case.is_mashed and (case.rinses or sparge is not None),
    }
    doses = [(dose.to, dose) for dose in plan.liquor.salts]
    doses += [(dose.to, dose) for dose in plan.liquor.acids]  # type: ignore[misc]
    for to, dose in doses:
        if not there.get(str(to), True):
            yield Remark(dose.position, f"{dose.amount.text} goes to the {to}, but the plan has no {to}")
