"""A lot is not in the stock.

A lot that the stock does not know cannot be traced to its delivery, its analysis or the other
batches it went into.

Fix: add the lot to stock.yaml, or correct its number
Source: 21 CFR 211.188(b)(3) by analogy: each lot identified
Passes:
    plan: {grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
Fails:
    plan: {grist: [{malt: pale, amount: 7 kg, lot: M-9}]}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.lots import lots_used
from reportgen.record.suggest import did_you_mean

GROUP = Group.STORE
SEVERITY = Severity.MINOR
OF_NAME = True


def check(batch: Assessment) -> Remarks:
    """Look up every lot."""
    for use in lots_used(batch):
        if use.lot not in use.known:
            yield Remark(
                use.lot.position,
                f"{use.item} has no lot {use.lot} in stock.yaml",
                "one of " + ", ".join(sorted(use.known)) if use.known else "",
                did_you_mean(use.lot, list(use.known)),
            )
