"""The hops are older than their analysis is good for.

Alpha acids fade by a few per cent to a third in a year, by variety and cold. The bitterness
computed from an old analysis is then too high.

Fix: buy fresh hops, or estimate what is left from their storage index
Source: S.T. Likens, G.B. Nickerson and C.E. Zimmermann 1970, ASBC Proc. 28:68, on storage; a year
    is common practice
Passes:
    {}
Fails:
    stock: {hops: {goldings: {lots: {H-1: {analysed: 2024-09-01}}}}}
    plan: {boil: {time: 60 min, hops: [{hop: goldings, amount: 60 g, time: 60 min, lot: H-1}]}}
    brew_day: {date: 2026-03-14}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.forecast.figures import Stage
from reportgen.record.finding import Severity

GROUP = Group.BOIL
SEVERITY = Severity.NOTE
UNTIL = Stage.BOIL


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare the age of each hop analysis with the brew day."""
    day = batch.record.brew_day
    if day is None:
        return
    for item in batch.record.plan.boil.hops:
        lot = batch.stock.hops[item.hop].lots.get(item.lot) if item.lot is not None else None
        if lot is None or lot.analysed is None:
            continue
        age = (day.date.date - lot.analysed.date).days
        if age > 400:
            yield Remark(item.lot.position, f"{item.hop} analysed {age} days before", "within a year")
