"""A dose is too small for the scale.

A few grams on a scale that reads in tens are a guess. The error then goes into the ions, the pH or
the bitterness.

Fix: weigh on a finer scale listed in brewery.yaml, or weigh out for several batches
Source: JCGM 100: the dose within ±20 % at k = 2
Passes:
    brewery: {instruments: {fine: {reads: scale, resolution: 0.1 g, uncertainty: 0.2 g}}}
Fails:
    {}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.misread import has_misread
from reportgen.checks.quantities import like
from reportgen.record.listing import BREWERY

GROUP = Group.STORE
SEVERITY = Severity.NOTE
UNTIL = Stage.BOIL


def check(batch: Assessment) -> Remarks:
    """Compare doses with the finest scale."""
    scales = [i for i in batch.brewery.instruments.values() if i.reads == "scale"]
    # A finer one may be what cannot be read.
    if not scales or has_misread(batch, BREWERY):
        return
    finest = min((i.uncertainty or i.resolution).value for i in scales)
    plan = batch.record.plan
    items = [(s.salt, s.amount) for s in plan.liquor.salts]
    items += [(h.hop, h.amount) for h in plan.boil.hops]
    for name, amount in items:
        if 0 < 0.2 * amount.value < finest:
            yield Remark(
                amount.position,
                f"{amount.text} of {name} on a scale good to ±{like(amount, finest)}",
                f"a scale good to ±{like(amount, 0.2 * amount.value)}",
            )
