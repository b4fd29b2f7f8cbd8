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

import math
from itertools import zip_longest

from reportgen.assessment.causes import shows_in
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.later import Deviation

GROUP = Group.DEVIATIONS
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look for deviations that name nothing."""
    causes = batch.record.deviations
    for cause, after in zip_longest(causes, causes[1:]):
        if _is_in_error(batch, cause, after):
            # What it names was not read, and that is told.
            continue
        if not any(shows_in(cause)) and not cause.findings and cause.instrument is None:
            yield Remark(
                cause.what.position,
                "the deviation names no figure and no finding",
                "`figures`, `findings` or `instrument`",
            )


def _is_in_error(batch: Assessment, cause: Deviation, after: Deviation | None) -> bool:
    """Whether something of an entry could not be read."""
    start = cause.position.line if cause.position is not None else 0
    end = after.position.line if after is not None and after.position is not None else math.inf
    return any(
        f.severity is Severity.ERROR and f.position.file == batch.batch.file
        and start <= f.position.line < end
        for f in batch.archive.findings
    )
