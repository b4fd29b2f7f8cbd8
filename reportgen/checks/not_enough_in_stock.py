"""A planned batch needs more of a lot or an item than is left.

On the day the bag is empty and the beer becomes another one. Now there is time to buy, to swap or
to brew less. Planned batches take their share in the order of their days; `reportgen store` shows
all of it.

Fix: buy what is missing, name another lot, or change the plan
Source: arithmetic over stock.yaml and all batches
Passes:
    stock: {malts: {pale: {lots: {M-1: {amount: 25 kg}}}}}
    plan: {grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
    brew_day: ""
    fermentation: ""
    packaging: ""
    tasting: ""
Fails:
    stock: {malts: {pale: {lots: {M-1: {amount: 5 kg}}}}}
    plan: {grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
    brew_day: ""
    fermentation: ""
    packaging: ""
    tasting: ""
"""

from reportgen.checks.base import Group, Remark, Remarks, Severity
from reportgen.store.balance import Store
from reportgen.store.words import amount_in

GROUP = Group.STORE
SEVERITY = Severity.MINOR


def check_store(store: Store, system: str) -> Remarks:
    """Look at what the planned batches lack, each by itself."""
    for need in store.needs:
        batch, taking = need.use.batch, need.use.taking
        if need.before or "not-enough-in-stock" in batch.silenced:
            continue
        wanted = amount_in(need.wanted, need.item.kind, system)
        there = amount_in(need.there, need.item.kind, system)
        yield Remark(
            taking.position,
            f"batch {batch.batch} needs {wanted} of {taking.item} {taking.lot}".rstrip(),
            f"at most the {there} left in the store",
        )
