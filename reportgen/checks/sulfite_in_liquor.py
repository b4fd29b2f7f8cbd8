"""Metabisulfite: mind asthma and the label.

Sulfite can trigger severe asthma, and its dust irritates. Above 10 mg/L of sulfur dioxide many
countries require it on the label. Against chlorine, 0.1 g is enough for 60 litres. What the
chlorine of the liquor takes up, and half as much again, is not excess.

Fix: use only what the chlorine needs, and label as local law requires
Afterwards: label as local law requires; next time use only what the chlorine needs
Source: EU labelling duty above 10 mg/L SO2, Regulation 1169/2011 annex II
Passes:
    {}
Fails:
    stock: {salts: {kmbs: {is: potassium_metabisulfite}}}
    plan: {liquor: {salts: [{salt: kmbs, amount: 1 g, to: mash}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.forecast.dechlorination import metabisulfite_for
from reportgen.science.number import nominal
from reportgen.science.salts import SULFITES

GROUP = Group.LIQUOR
SEVERITY = Severity.NOTE
ALSO = {Severity.MAJOR: "above 30 mg/L"}
UNTIL = Stage.MASH


def check(batch: Assessment) -> Remarks:
    """Look at the strength of any metabisulfite."""
    case = batch.case
    for item, dose in zip(batch.record.plan.liquor.salts, batch.case.salts, strict=True):
        if dose.salt not in SULFITES:
            continue
        strength = 1000 * nominal(dose.grams) / case.volume
        # What chlorine takes is no sulfite any more: the volumes of liquor are as the wort's.
        needed = 1000 * nominal(metabisulfite_for(case, case.volume, dose.salt, dose.assay))
        if strength > 10 and strength > 1.1 * needed / case.volume:
            yield Remark(
                item.amount.position,
                f"{strength:.0f} mg of metabisulfite for each litre of wort",
                "at most 10 mg/L; 1.6 mg removes 1 mg of chlorine",
                severity=Severity.MAJOR if strength > 30 else None,
            )
