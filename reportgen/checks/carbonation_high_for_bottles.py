"""High carbonation for bottles.

Ordinary beer bottles are commonly made for about three volumes, and less after wear. Beyond it they
can explode. Where brewery.yaml has the bottle's own pressure limit, that decides and this check is
silent.

Fix: carbonate less, or use bottles whose maker rates them for it
Source: about 3 volumes for ordinary bottles: common practice; the maker's rating comes first
Passes:
    plan: {packaging: {into: bottle, carbonation: 2.4 vol}}
Fails:
    plan: {packaging: {into: bottle, carbonation: 3.6 vol}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.checks.pressure_over_limit import of_container
from reportgen.checks.pressures import MOST_IN_BOTTLES, is_high_for_bottles

GROUP = Group.PACKAGING
SEVERITY = Severity.CRITICAL
UNTIL = Stage.PACK
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Look at the carbonation planned for bottles, and say what it brings them to."""
    if is_high_for_bottles(batch):
        carbonation = batch.record.plan.packaging.carbonation
        over = [said.message for said in of_container(batch)]
        yield Remark(
            carbonation.position,
            "; ".join([f"{carbonation.value:.1f} volumes in bottles", *over]),
            f"at most {MOST_IN_BOTTLES:.0f} volumes, unless the maker of the bottles rates them for more",
        )
