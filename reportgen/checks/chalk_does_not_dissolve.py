"""Chalk hardly dissolves in liquor.

Only about 60 mg of chalk dissolve in a litre of water in contact with air. It clouds the liquor,
settles, and raises the mash pH much less than computed.

Fix: use baking soda or slaked lime, or brew a pale beer with this liquor
Source: chalk 59 mg/kg at the carbon dioxide of air, PHREEQC; K. Troester 2009 on undissolved chalk
    in mashes
Passes:
    {}
Fails:
    stock: {salts: {chalk: {is: chalk}}}
    plan: {liquor: {salts: [{salt: chalk, amount: 5 g, to: mash}]}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.LIQUOR
SEVERITY = Severity.MINOR
UNTIL = Stage.MASH


def check(batch: Assessment) -> Remarks:
    """Look for chalk."""
    for item, dose in zip(batch.record.plan.liquor.salts, batch.case.salts, strict=True):
        if dose.salt == "chalk":
            yield Remark(item.salt.position, f"{item.amount.text} of chalk to the {dose.to}")
