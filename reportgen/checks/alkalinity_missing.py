"""A liquor has neither bicarbonate nor alkalinity.

Without it mash pH and acid cannot be computed: it counts as zero, as if the water were distilled.

Fix: add bicarbonate or alkalinity from the report; 0 mg/L if it is known to be none
Source: the mash pH needs it
Passes:
    {}
Fails:
    brewery: {liquors: {reservoir: {bicarbonate: }}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment
from reportgen.checks.base import Group, Remark
from reportgen.record.finding import Severity

GROUP = Group.LIQUOR
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Remark]:
    """Look for the alkalinity of each liquor used."""
    for part in batch.record.plan.liquor.blend:
        liquor = batch.brewery.liquors[part.liquor]
        if liquor.bicarbonate is None and liquor.alkalinity is None:
            yield Remark(liquor.position, f"{part.liquor}: no bicarbonate and no alkalinity")
