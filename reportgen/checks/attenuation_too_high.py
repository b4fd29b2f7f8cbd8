"""More was fermented than brewing yeast can ferment.

An all-malt wort ferments to 85 per cent apparent attenuation at the most with ordinary yeast. More,
and more than stock.yaml says of the yeasts pitched and added, means wild yeast, an enzyme, much
sugar, or a gravity that was misread.

Fix: read the gravity again from a degassed sample; taste for wild yeast
Afterwards: look for wild yeast in the tasting; next time read from a degassed sample
Source: common practice, no source
Passes:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.011}
Fails:
    brew_day: {date: 2026-03-14, pitch: {original_gravity: 1.049}}
    fermentation: {final_gravity: 1.002}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage
from reportgen.science.number import expanded_uncertainty, nominal

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
UNTIL = Stage.PACK
CONTRADICTS = True
MOST = 0.88
"""Of an all-malt wort by a yeast of which no more is known; a little above what is usual."""


def check(batch: Assessment) -> Remarks:
    """Look at the apparent attenuation."""
    actual = batch.actuals.get("apparent_attenuation")
    yeasts = batch.brewed.attenuation
    most = max(MOST, nominal(yeasts) + expanded_uncertainty(yeasts))
    if actual is None or actual.value is None or batch.case.sugars:
        return
    if actual.value - actual.uncertainty > most:
        yield Remark(
            batch.actuals["final_gravity"].reading.position,
            f"apparent attenuation {actual.value:.0%}",
            f"at most about {100 * most:.0f} %",
        )
