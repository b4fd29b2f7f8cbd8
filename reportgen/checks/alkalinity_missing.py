"""A liquor has neither bicarbonate nor alkalinity.

Without it mash pH and acid cannot be computed: it counts as zero, as if the water were distilled.

Fix: add bicarbonate or alkalinity from the report; 0 mg/L if it is known to be none
Source: the mash pH needs it
Passes:
    {}
Fails:
    brewery: {liquors: {reservoir: {bicarbonate: }}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.brewery import Liquor

GROUP = Group.LIQUOR
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for the alkalinity of each liquor used."""
    for part in batch.record.plan.liquor.blend:
        liquor = batch.brewery.liquors[part.liquor]
        if is_missing(liquor):
            yield Remark(liquor.position, f"{part.liquor}: no bicarbonate and no alkalinity")


def is_missing(liquor: Liquor) -> bool:
    """Whether nothing is known of the alkalinity of a liquor, so that none of its pH is judged."""
    return liquor.bicarbonate is None and liquor.alkalinity is None
