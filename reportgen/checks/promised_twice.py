"""Two planned batches want the same last bag.

There is enough for one of them. The batch that is brewed first takes it; the other finds too little.

Fix: buy what is missing, name another lot in one of the plans, or brew one of them later
Source: arithmetic over stock.yaml and all batches
Passes:
    stock: {malts: {pale: {lots: {M-1: {amount: 15 kg}}}}}
    plan: {brew_on: 2026-03-14, grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
    brew_day: ""
    fermentation: ""
    packaging: ""
    tasting: ""
    others:
      2026-02:
        plan: {brew_on: 2026-03-21, grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
        brew_day: ""
        fermentation: ""
        packaging: ""
        tasting: ""
Fails:
    stock: {malts: {pale: {lots: {M-1: {amount: 10 kg}}}}}
    plan: {brew_on: 2026-03-14, grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
    brew_day: ""
    fermentation: ""
    packaging: ""
    tasting: ""
    others:
      2026-02:
        plan: {brew_on: 2026-03-21, grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
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
    """Look at what planned batches lack because others take it first."""
    for need in store.needs:
        batch, taking = need.use.batch, need.use.taking
        if not need.before or "promised-twice" in batch.silenced:
            continue
        wanted = amount_in(need.wanted, need.item.kind, system)
        there = amount_in(need.there, need.item.kind, system)
        name = f"{taking.item} {taking.lot}".rstrip()
        yield Remark(
            taking.position,
            f"batch {batch.batch} needs {wanted} of {name}, and {', '.join(need.before)} "
            f"{'takes' if len(need.before) == 1 else 'take'} of it before",
            f"at most the {there} that these leave",
        )
