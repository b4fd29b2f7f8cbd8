"""The hops have lost much of their bitterness in storage.

Alpha acids fade by a few per cent to two thirds in a year, by variety, cold and air. If the lot
says how it is stored, its present alpha acids are counted, so more is weighed out. This check
then reports only a loss that also shows in the taste. If the lot does not say it, the alpha acids
of the analysis are counted and the computed bitterness is too high. The loss shown is then that
of a cold store and a sealed bag. Extract keeps.

Fix: buy fresh hops, or write the lot's `stored_at` and `packing` and weigh out what is then needed
Source: losses by M. Garetz 1994, Brewing Techniques 2(1), Hop storage; see the method
    bitterness.hop_alpha_stored; a third as a limit: common practice, no source
Passes:
    stock: {hops: {goldings: {lots: {H-1: {analysed: 2025-09-01, stored_at: 4 C, packing: without_oxygen}}}}}
    plan: {boil: {time: 60 min, hops: [{hop: goldings, amount: 60 g, time: 60 min, lot: H-1}]}}
    brew_day: {date: 2026-03-14}
Fails:
    stock: {hops: {goldings: {lots: {H-1: {analysed: 2024-09-01}}}}}
    plan: {boil: {time: 60 min, hops: [{hop: goldings, amount: 60 g, time: 60 min, lot: H-1}]}}
    brew_day: {date: 2026-03-14}
"""

from reportgen.assessment.day_weighed import used_on
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.forecast.materials import alpha_left, days_stored
from reportgen.science.number import nominal

GROUP = Group.BOIL
SEVERITY = Severity.NOTE
UNTIL = Stage.BOIL

MATTERS = 0.30
"""Share of the alpha acids lost: well beyond what they are analysed to, and stale in the nose."""
USUAL_STORE, USUAL_PACKING = 4.0, "sealed"


def check(batch: Assessment) -> Remarks:
    """Compute what the storage of each lot has left of its alpha acids on the day of use."""
    plan, on = batch.record.plan, used_on(batch.record)
    for item in (*plan.boil.hops, *plan.steeped_hops):
        if item.lot is None:
            continue
        hop = batch.stock.hops[item.hop]
        lot = hop.lots.get(item.lot)
        if lot is None:
            continue
        known = lot.stored_at is not None
        packing = str(lot.packing or ("open" if known else USUAL_PACKING))
        at = lot.stored_at.value if lot.stored_at is not None else USUAL_STORE
        lost = 1 - nominal(alpha_left(hop, lot, on, at, packing))
        if lost < MATTERS:
            continue
        age = round(sum(days_stored(lot, on)))
        told = "counted as lost" if known else "lost even in a cold store, and not counted"
        yield Remark(
            item.lot.position,
            f"{item.hop} analysed {age} days before: about {lost:.0%} of its alpha acids {told}",
            f"less than {MATTERS:.0%}",
            "" if not known else "buy fresh hops; what is left is counted",
        )
