"""The alcohol of the analysis does not agree with the two gravities.

An analysis of the alcohol needs neither of the gravities. Where the two differ by more than both
can err, a gravity was misread, water or sugar was added after one of them, or another beer was
analysed. What priming brings is counted with the gravities.

Fix: check both gravities and the instrument; check that the report is of this batch
Source: see the methods of alcohol; the balance of extract, by gravity
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.011}
    packaging: {date: 2026-03-24}
    analysis: {date: 2026-04-02, alcohol: 5.0 %, alcohol_uncertainty: 0.1 %}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.011}
    packaging: {date: 2026-03-24}
    analysis: {date: 2026-04-02, alcohol: 4.2 %, alcohol_uncertainty: 0.1 %}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.forecast.figures import DERIVED

GROUP = Group.PACKAGING
SEVERITY = Severity.MINOR
CONTRADICTS = True

MODEL_U = 0.002
"""±U (k = 2) of alcohol by volume that the methods of alcohol from two gravities state themselves,
beside that of the readings."""


def check(batch: Assessment) -> Remarks:
    """Hold the alcohol of the analysis against that of the gravities."""
    analysed = batch.actuals.get("alcohol")
    if batch.record.analysis is None or analysed is None or analysed.value is None:
        return
    # What the walk with all readings computed, before the analysis took its place.
    expected = batch.now.expected.get("alcohol")
    if expected is None or any(key not in batch.now.readings for key in DERIVED["alcohol"]):
        return
    computed = expected.value
    reach = (analysed.uncertainty**2 + expected.uncertainty**2 + MODEL_U**2) ** 0.5
    if abs(analysed.value - computed) > reach:
        yield Remark(
            analysed.reading.position,
            f"alcohol {100 * analysed.value:.2f} % by analysis, "
            f"{100 * computed:.2f} % by the gravities",
            f"{100 * computed:.2f} ±{100 * reach:.2f} %",
        )
