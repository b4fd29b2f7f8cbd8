"""More of a lot went into beer than was received.

A lot cannot give more than it held. An amount is mistyped, a lot number is wrong on a bag, or a
delivery was not written down.

Fix: correct the amount received, the lots of the batches, or add an entry that says what was found
Source: arithmetic; one hundredth of the amount received is allowed for scales
Passes:
    stock: {malts: {pale: {lots: {M-1: {amount: 25 kg}}}}}
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7 kg, lot: M-1}]}
Fails:
    stock: {malts: {pale: {lots: {M-1: {amount: 5 kg}}}}}
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7 kg, lot: M-1}]}
"""

from reportgen.checks.base import Group, Remark, Remarks, Severity
from reportgen.store.balance import Store
from reportgen.store.words import amount_in

GROUP = Group.STORE
SEVERITY = Severity.MINOR


def check_store(store: Store, system: str) -> Remarks:
    """Look for lots that are below nought."""
    for lot in store.lots.values():
        if not lot.is_short:
            continue
        users = [u.batch.batch for u in lot.uses if not u.is_planned]
        gone = amount_in(lot.used + lot.lost, lot.kind, system)
        yield Remark(
            lot.position,
            f"{gone} of {lot.item} {lot.number} are used or lost",
            f"at most the {amount_in(lot.received, lot.kind, system)} received; it is in "
            f"{', '.join(dict.fromkeys(users)) or 'no batch'}",
        )
