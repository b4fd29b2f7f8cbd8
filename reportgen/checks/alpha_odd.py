"""A hop's alpha acids are out of reason.

Hops hold about 2 to 20 per cent of alpha acids; extracts more. A slip of the decimal point here
makes the beer ten times as bitter on paper.

Mend: compare with the hop's analysis
Source: common practice, no source
Passes:
    {}
Fails:
    stock: {hops: {goldings: {alpha: 52 %}}}
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Look at the alpha acids of each hop used."""
    boil = batch.record.plan.boil
    for item in (*boil.hops, *(boil.steep.hops if boil.steep is not None else ())):
        hop = batch.stock.hops[item.hop]
        lot = hop.lots.get(item.lot) if item.lot is not None else None
        given = [(hop.alpha, str(item.hop))]
        if lot is not None and lot.alpha is not None:
            given.append((lot.alpha, f"{item.hop}, lot {item.lot}"))
        for alpha, named in given:
            if hop.form != "extract" and not 0.01 <= alpha.value <= 0.25:
                yield Said(alpha.position, f"{named}: alpha acids {alpha.text}", "2 to 20 %")
