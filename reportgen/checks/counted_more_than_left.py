"""A count of the store is higher than what can be left of the lot.

At most, what was received less what went into beer and what was lost can be left. If a count is
higher, the count or the amount received is mistyped, or the count is of another lot. The store
still goes by the count, since it was seen.

Fix: count again; correct the count or the amount received, or add an entry that says what was found
Source: arithmetic; one twentieth of the amount received is allowed for the scales of several brews
Passes:
    stock: {malts: {pale: {lots: {M-1: {amount: 25 kg, entries: [{on: 2026-04-01, counted: 18 kg, because: count of the store}]}}}}}
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7 kg, lot: M-1}]}
Fails:
    stock: {malts: {pale: {lots: {M-1: {amount: 25 kg, entries: [{on: 2026-04-01, counted: 180 kg, because: count of the store}]}}}}}
    brew_day: {date: 2026-03-14, weighed: [{item: pale, amount: 7 kg, lot: M-1}]}
"""

from reportgen.checks.base import Group, Remark, Remarks, Severity
from reportgen.store.balance import Store
from reportgen.store.words import amount_in

GROUP = Group.STORE
SEVERITY = Severity.MINOR


def check_store(store: Store, system: str) -> Remarks:
    """Hold each count against the books of its lot."""
    for lot in store.lots.values():
        for entry, left in lot.too_many:
            assert entry.counted is not None
            most = amount_in(max(left, 0.0), lot.kind, system)
            yield Remark(
                entry.counted.position,
                f"{entry.counted.text} of {lot.item} {lot.number} counted, more than can be left",
                f"at most {most}, left of {amount_in(lot.received, lot.kind, system)} received",
            )
