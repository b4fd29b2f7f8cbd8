"""The beer is stronger than its yeast is known to ferment.

Ale and lager yeast mostly stops at 10 to 12 % vol. Well fed and aired it has reached 16, so that
more than 14 is reported of a yeast of which stock.yaml says nothing. The forecast does not stop there
by itself: the beer then stays sweeter and weaker. Of several yeasts the most tolerant counts.

Fix: plan less extract or another yeast, or write how much this one tolerates into its `highest_alcohol`
Afterwards: compare original and final gravity with the sheets; write how much this yeast tolerates into its `highest_alcohol`
Source: G. P. Casey, C. A. Magnus, W. M. Ingledew 1984, Appl. Environ. Microbiol. 48, 639-646: 16.2 %
    vol by fed lager yeast (from memory); 14 %: common practice, no source
Passes:
    plan: {aims: {alcohol: 4.2 %}}
Fails:
    stock: {yeasts: {ale: {highest_alcohol: 3 %}}}
"""

from reportgen.assessment.additions import yeasts_in
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
ALSO = {Severity.NOTE: "before the beer has fermented"}
UNTIL = Stage.FERMENT

MOST = 0.14
"""Share by volume that a yeast of which nothing is stated is taken to tolerate."""


def check(batch: Assessment) -> Remarks:
    """Compare the strength read, else that forecast, with what the yeasts tolerate."""
    stated = [yeast.highest_alcohol for yeast in yeasts_in(batch.record, batch.stock)]
    most = max((MOST if limit is None else limit.value for limit in stated), default=MOST)
    actual = batch.actuals.get("alcohol")
    alcohol = actual.number if actual is not None else None
    if alcohol is None:
        if "alcohol" not in batch.now:
            return
        actual, alcohol = None, batch.now["alcohol"]
    sure = nominal(alcohol) - (expanded_uncertainty(alcohol) if actual is not None else 0.0)
    if sure > most:
        where = actual.reading.position if actual is not None else None
        yield Remark(
            where or batch.record.plan.pitch.yeast.position,
            f"{100 * nominal(alcohol):.1f} % vol by {batch.record.plan.pitch.yeast}",
            f"at most {100 * most:g} % vol",
            severity=Severity.NOTE if actual is None else None,
        )
