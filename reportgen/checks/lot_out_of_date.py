"""A lot was past its date, or not yet delivered.

Old malt is slack, old hops cheesy, old yeast dead. A lot used before it was received has a wrong
number or a wrong date.

Fix: use fresh stock, or fix the lot or the date
Afterwards: fix the lot or the date; next time use fresh stock
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

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.checks.lots import lots_used
from reportgen.forecast.figures import Stage
from reportgen.record.finding import Severity

GROUP = Group.STORE
SEVERITY = Severity.NOTE
ALSO = {Severity.MINOR: "received after the day of its use"}
UNTIL = Stage.BOIL


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the dates of every lot with the brew day."""
    brewed = batch.record.brew_day
    day = brewed.date if brewed is not None else batch.record.plan.brew_on
    if day is None:
        return
    for use in lots_used(batch):
        lot = use.known.get(use.lot)
        if lot is None:
            continue
        if lot.best_before is not None and lot.best_before.date < day.date:
            yield Remark(
                use.lot.position,
                f"{use.item} {use.lot} was best before {lot.best_before}",
                f"{day} or later",
            )
        if lot.received is not None and lot.received.date > day.date:
            yield Remark(
                use.lot.position,
                f"{use.item} {use.lot} was received on {lot.received}",
                f"before {day}",
                severity=Severity.MINOR,
            )
