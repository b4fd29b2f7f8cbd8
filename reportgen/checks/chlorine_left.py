"""Chlorine or chloramine stays in the liquor.

With the phenols of malt they make chlorophenols, which taste of medicine at millionths of a gram in a
litre. Heating drives most free chlorine off; chloramine stays in boiling wort. Metabisulfite takes both
within minutes, carbon too when the water runs slowly, as its maker says; standing and boiling take free
chlorine alone.

Fix: weigh metabisulfite into that liquor, or draw it through carbon; `reportgen treat` says how much
Afterwards: taste for medicine, plaster or disinfectant; next time treat the liquor
Source: stoichiometry of dechlorination, White's Handbook of Chlorination, 5th ed. 2010, ch. 11; the limits,
    0.1 mg/L of chloramine and 0.5 of free chlorine: common practice, no source
Passes:
    brewery: {liquors: {reservoir: {chloramine: 2 mg/L}}}
    plan: {liquor: {dechlorinated_by: carbon}}
Fails:
    brewery: {liquors: {reservoir: {chloramine: 2 mg/L}}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.forecast.dechlorination import chlorine_left, metabisulfite_for
from reportgen.science.number import nominal
from reportgen.science.salts import SULFITES

GROUP = Group.LIQUOR
SEVERITY = Severity.MINOR
UNTIL = Stage.LIQUOR

CHLORAMINE, FREE = 0.1, 0.5
"""mg/L as Cl2 that pass: of liquor with chloramine in it, and of free chlorine alone."""


def check(batch: Assessment) -> Remarks:
    """Count what each liquor has and what was weighed into it."""
    case, book = batch.case, batch.planned
    least = CHLORAMINE if nominal(case.chloramine) > 0 else FREE
    what = "chloramine" if nominal(case.chloramine) > 0 else "chlorine"
    for place, key, words in (
        ("mash", "mash_liquor", "mash liquor"),
        ("sparge", "sparge_liquor", "sparge liquor"),
        ("kettle", "top_up_liquor", "top-up liquor"),
        ("fermenter", "dilution_liquor", "dilution liquor"),
    ):
        litres = book.expected[key].value if key in book.expected else 0.0
        if litres <= 0:
            continue
        left = nominal(chlorine_left(case, litres, place))
        if left < least:
            continue
        yield Remark(
            batch.record.plan.liquor.position,
            f"{left:.1f} mg/L of {what} in the {words}",
            f"less than {least:g} mg/L{_dose(batch, litres)}",
        )


def _dose(batch: Assessment, litres: float) -> str:
    """Return the metabisulfite in stock that it takes, in words; nothing where there is none."""
    for name, salt in batch.stock.salts.items():
        if salt.is_ in SULFITES:
            grams = nominal(metabisulfite_for(batch.case, litres, str(salt.is_), salt.purity))
            return f": {grams:.2g} g of {str(name).replace('_', ' ')}"
    return ""
