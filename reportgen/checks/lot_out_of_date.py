"""A lot was past its date, or not yet delivered.

Old malt is moist, old hops smell of cheese, old yeast is mostly dead. A lot used before it was
received has a wrong number or a wrong date. If most lots were, the date of the brew day is wrong.

Fix: use fresh stock, or correct the lot or the date
Afterwards: correct the lot or the date; next time use fresh stock
Source: dates as written in stock.yaml
Passes:
    stock: {malts: {pale: {lots: {M-1: {best_before: 2026-12-31}}}}}
    plan: {grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
    brew_day: {date: 2026-03-14}
Fails:
    stock: {malts: {pale: {lots: {M-1: {best_before: 2026-01-31}}}}}
    plan: {grist: [{malt: pale, amount: 7 kg, lot: M-1}]}
    brew_day: {date: 2026-03-14}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.lots import lots_used

GROUP = Group.STORE
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "received after the day of its use"}
UNTIL = Stage.BOIL

MANY = 3
"""Lots received after the day of use, from which on the day is doubted and not the lots."""


def check(batch: Assessment) -> Remarks:
    """Compare the dates of every lot with the brew day."""
    brewed = batch.record.brew_day
    day = brewed.date if brewed is not None else batch.record.plan.brew_on
    if day is None:
        return
    uses = {(use.item, str(use.lot)): use for use in reversed([*lots_used(batch)])}.values()
    lots = [(use, lot) for use in uses if (lot := use.known.get(use.lot)) is not None]
    dated = [lot.received.date for _, lot in lots if lot.received is not None]
    later = [received for received in dated if received > day.date]
    doubted = len(later) >= MANY and 2 * len(later) > len(dated)
    if doubted:
        yield Remark(
            day.position,
            f"{len(later)} of the {len(dated)} lots used were received after {day}",
            f"{max(dated)} or later",
            "compare the date with the sheet",
            severity=Severity.MINOR,
        )
    for use, lot in reversed(lots):
        if lot.best_before is not None and lot.best_before.date < day.date:
            yield Remark(
                use.lot.position,
                f"{use.item} {use.lot} was best before {lot.best_before}",
                f"{day} or later",
            )
        if lot.received is not None and lot.received.date > day.date and not doubted:
            yield Remark(
                use.lot.position,
                f"{use.item} {use.lot} was received on {lot.received}",
                f"before {day}",
                severity=Severity.MINOR,
            )
