"""The analysis finds more bitterness than the hops hold alpha acids.

A beer cannot have more bitter substances than there were alpha acids in its hops, those of the
fermenter included. More of it means a weight or an alpha figure that is wrong, hops that are not
written, or the analysis of another beer.

Fix: check the weight and the lot of each hop; check that the report is of this batch
Source: conservation of mass: an iso-alpha acid weighs what its alpha acid did
Passes:
    brew_day: {date: 2026-03-14, boil: {started: 12:00, ended: 13:00}}
    packaging: {date: 2026-03-24}
    analysis: {date: 2026-04-02, bitterness: 34 IBU, bitterness_uncertainty: 3 IBU}
Fails:
    brew_day: {date: 2026-03-14, boil: {started: 12:00, ended: 13:00}}
    packaging: {date: 2026-03-24}
    analysis: {date: 2026-04-02, bitterness: 150 IBU, bitterness_uncertainty: 3 IBU}
"""

from reportgen.assessment.carried import most_bitterness
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import quantity
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.BOIL
SEVERITY = Severity.MAJOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Hold the bitterness found against all alpha acids of the hops."""
    actual = batch.actuals.get("bitterness")
    if actual is None or actual.number is None or not actual.analysed:
        return
    most = most_bitterness(batch)
    if nominal(actual.number - most) > expanded_uncertainty(actual.number - most):
        shown = [quantity(nominal(n), "bitterness", 0, batch) for n in (actual.number, most)]
        yield Remark(
            actual.reading.position,
            f"{shown[0]}, where all alpha acids of the hops are {shown[1]}",
            f"at most {shown[1]}",
        )
