"""More gypsum than the liquor can dissolve.

What does not dissolve lies on the bottom of the liquor tank and is missing in the mash. Hot water
does not help: gypsum dissolves best near 40 degrees and slowly everywhere.

Fix: add the gypsum to the grist, or use calcium chloride for part of it
Source: solubility computed with PHREEQC; see the method salts.gypsum_solubility
Passes:
    {}
Fails:
    plan: {liquor: {salts: [{salt: gypsum, amount: 60 g, to: mash}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.quantities import temperature
from reportgen.science.number import nominal
from reportgen.science.salts import gypsum_solubility

GROUP = Group.LIQUOR
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "above the solubility"}
UNTIL = Stage.MASH


def check(batch: Assessment) -> Remarks:
    """Compare each dose of gypsum with its solubility."""
    volumes = {
        "mash": batch.planned.expected.get("mash_liquor"),
        "sparge": batch.planned.expected.get("sparge_liquor"),
    }
    limit, cool = nominal(gypsum_solubility(20.0)), temperature(20, batch, 0)
    for item, dose in zip(batch.record.plan.liquor.salts, batch.case.salts, strict=True):
        volume = volumes.get(dose.to)
        if dose.salt != "gypsum" or volume is None or volume.value <= 0:
            continue
        strength = nominal(dose.grams) / volume.value
        if strength > 0.8 * limit:
            yield Remark(
                item.amount.position,
                f"{strength:.2f} g of gypsum for each litre of {dose.to} liquor",
                f"well below {limit:.2f} g/L, which is all that water of {cool} holds",
                severity=Severity.MAJOR if strength > limit else None,
            )
