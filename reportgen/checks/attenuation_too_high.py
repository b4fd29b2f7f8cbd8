"""More was fermented than brewing yeast can ferment.

An all-malt wort ferments to 85 per cent apparent attenuation at the most with ordinary yeast. More
means wild yeast, an enzyme, much sugar, or a gravity that was misread.

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

GROUP = Group.FERMENTATION
SEVERITY = Severity.MINOR
UNTIL = Stage.PACK


def check(batch: Assessment) -> Remarks:
    """Look at the apparent attenuation."""
    actual = batch.actuals.get("apparent_attenuation")
    expected = batch.now.expected.get("apparent_attenuation")
    if actual is None or actual.value is None or batch.case.sugars:
        return
    if actual.value - actual.uncertainty > 0.88:
        yield Remark(
            batch.actuals["final_gravity"].reading.position,
            f"apparent attenuation {actual.value:.0%}",
            "at most about 88 %" if expected is not None else "",
        )
