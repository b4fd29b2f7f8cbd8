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

GROUP = Group.PACKAGING
SEVERITY = Severity.CRITICAL
UNTIL = Stage.PACK
EACH_FILLING = True


def check(batch: Assessment) -> Remarks:
    """Look at the carbonation planned for bottles."""
    pack = batch.record.plan.packaging
    if batch.case.container.rating is not None:
        return
    if pack.into == "bottle" and pack.carbonation.value > 3.0:
        yield Remark(
            pack.carbonation.position,
            f"{pack.carbonation.value:.1f} volumes in bottles",
            "at most 3 volumes, unless the maker of the bottles rates them for more",
        )
