"""The last rinse of the fermenter was not neutral.

The pH of the last rinse shows whether cleaner is left: it is that of the rinsing water, about 6 to
9. Well above that, caustic is left in the vessel, well below, acid. Either can burn whoever tastes
or cleans, and spoils the beer.

Fix: rinse again and measure; hold the beer until it is known to be free of cleaner
Afterwards: look for cleaner in the tasting; next time rinse until it is neutral
Source: Council Directive (EU) 2020/2184 annex I part C, drinking water pH 6.5 to 9.5, with room
    for deionised water that takes up carbon dioxide
Passes:
    brew_day: {date: 2026-03-14, rinse_ph: 7.2}
Fails:
    brew_day: {date: 2026-03-14, rinse_ph: 12}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Stage

GROUP = Group.PACKAGING
SEVERITY = Severity.MAJOR
ALSO = {Severity.CRITICAL: "pH 3.5 or less, or 10.5 or more"}
UNTIL = Stage.PITCH

LOW, HIGH = 5.0, 9.5
FIERCE_LOW, FIERCE_HIGH = 3.5, 10.5
"""Beyond these much cleaner is left."""


def check(batch: Assessment) -> Remarks:
    """Look at the pH of the last rinse."""
    day = batch.record.brew_day
    if day is None or day.rinse_ph is None or LOW <= day.rinse_ph.value <= HIGH:
        return
    left = "acid" if day.rinse_ph.value < LOW else "caustic cleaner"
    yield Remark(
        day.rinse_ph.position,
        f"the last rinse has pH {day.rinse_ph.text}: {left} is left in the fermenter",
        f"{LOW:g} to {HIGH:g}",
        severity=None if FIERCE_LOW < day.rinse_ph.value < FIERCE_HIGH else Severity.CRITICAL,
    )
