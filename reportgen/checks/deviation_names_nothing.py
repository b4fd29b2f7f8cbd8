"""A deviation says neither which figures nor which findings it shows in.

A cause is tied to what it explains by the names under `figures` (or the single `figure`) and
`findings`, or by the `instrument` that was in doubt. Without a name it explains nothing: the figures
that are off plan stay open.

Fix: add `figures: [...]` with keys as `reportgen figures` prints them, or `findings: [...]`
Source: 21 CFR 211.192 by analogy: what is recorded must be traceable
Passes:
    brew_day: {date: 2026-03-14}
    review:
      deviations:
        - {figures: [kettle_volume], what: short, cause: thick mash}
        - {instrument: thermometer, what: read high, cause: a knock}
Fails:
    brew_day: {date: 2026-03-14}
    review: {deviations: [{what: short, cause: thick mash}]}
"""

from reportgen.assessment.causes import shows_in
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.misread import causes_read

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for deviations that name nothing."""
    for cause in causes_read(batch):
        if not any(shows_in(cause)) and not cause.findings and cause.instrument is None:
            yield Remark(
                cause.what.position,
                "the deviation names no figure and no finding",
                "`figures`, `findings` or `instrument`",
            )
