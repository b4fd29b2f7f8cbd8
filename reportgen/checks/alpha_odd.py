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
    for item in batch.record.plan.boil.hops:
        hop = batch.stock.hops[item.hop]
        if hop.form != "extract" and not 0.01 <= hop.alpha.value <= 0.25:
            yield Said(hop.alpha.position, f"{item.hop}: alpha acids {hop.alpha.text}", "2 to 20 %")
