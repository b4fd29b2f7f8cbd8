"""Enough lactic acid to be tasted.

Lactic acid of about 400 mg in a litre of beer is tasted as a soft sourness. Phosphoric acid does
the same work without it. Beer that a culture sours, or whose wort was soured, is not judged.

Fix: use phosphoric acid for part of it, or softer liquor
Source: taste threshold near 400 mg/L: common practice, no source
Passes:
    {}
Fails:
    plan: {liquor: {acids: [{acid: lactic_80, amount: 30 mL, to: mash}]}}
"""

from reportgen.assessment.additions import is_meant_sour
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.science.acid import ACIDS, acid_normality
from reportgen.science.number import nominal

GROUP = Group.LIQUOR
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "above 600 mg/L"}
UNTIL = Stage.BOIL


def check(batch: Assessment) -> Remarks:
    """Add up the lactic acid."""
    lactic = sum(
        nominal(dose.millilitres) * nominal(acid_normality(dose.acid, dose.strength))
        for dose in batch.case.acids
        if dose.acid == "lactic"
    )
    strength = lactic * ACIDS["lactic"].molar_mass / batch.case.volume
    if strength > 300 and not is_meant_sour(batch.record, batch.stock):
        yield Remark(
            batch.record.plan.liquor.position,
            f"{strength:.0f} mg of lactic acid for each litre of wort",
            "at most 300 mg/L",
            severity=Severity.MINOR if strength > 600 else None,
        )
