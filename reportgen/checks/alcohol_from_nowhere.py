"""The analysis finds more alcohol than all of the extract could give.

Alcohol is made from extract. A beer cannot have more of it than all its extract can give. Either
sugar or a stronger beer was added and not written, another beer was analysed, or the number has
another unit. Where both gravities were read, alcohol-by-analysis reports it.

Fix: check that the report is of this batch and in per cent by volume; write down sugar that was added
Source: conservation of extract; see the methods of alcohol
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    packaging: {date: 2026-03-24}
    analysis: {date: 2026-04-02, alcohol: 5.4 %, alcohol_uncertainty: 0.1 %}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    packaging: {date: 2026-03-24}
    analysis: {date: 2026-04-02, alcohol: 8.9 %, alcohol_uncertainty: 0.1 %}
"""

from reportgen.assessment.carried import most_alcohol
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.forecast.figures import DERIVED
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.FERMENTATION
SEVERITY = Severity.MAJOR
CONTRADICTS = True


def check(batch: Assessment) -> Remarks:
    """Hold the alcohol found against what all of the extract would give."""
    actual = batch.actuals.get("alcohol")
    if actual is None or actual.number is None or not actual.analysed:
        return
    if all(key in batch.now.readings for key in DERIVED["alcohol"]):
        return
    most = most_alcohol(batch)
    if nominal(actual.number - most) > expanded_uncertainty(actual.number - most):
        yield Remark(
            actual.reading.position,
            f"{100 * nominal(actual.number):.1f} % of alcohol, where all of the extract would give"
            f" {100 * nominal(most):.1f} %",
            f"at most {100 * nominal(most):.1f} ±{100 * expanded_uncertainty(most):.1f} %",
        )
