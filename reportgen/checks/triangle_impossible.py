"""A triangle test has more right answers than tasters.

Each taster gives one answer. A test against the batch itself cannot be either.

Mend: compare with the tasting sheets
Source: ISO 4120
Passes:
    others: {2026-02: {name: Other}}
    brew_day: {date: 2026-03-14}
    tasting: [{date: 2026-04-10, triangle: {against: 2026-02, tasters: 12, correct: 8}}]
Fails:
    others: {2026-02: {name: Other}}
    brew_day: {date: 2026-03-14}
    tasting: [{date: 2026-04-10, triangle: {against: 2026-02, tasters: 8, correct: 12}}]
"""

from collections.abc import Iterator

from reportgen.assess import Assessment
from reportgen.checks.base import Group, Said
from reportgen.record.finding import Severity

GROUP = Group.TRUE
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Iterator[Said]:
    """Look at each triangle test."""
    for session in batch.record.tasting:
        test = session.triangle
        if test is None:
            continue
        if test.correct.value > test.tasters.value:
            yield Said(
                test.correct.position,
                f"{test.correct.text} right of {test.tasters.text}",
                f"at most {test.tasters.text}",
            )
        if str(test.against) == batch.batch.id:
            yield Said(test.against.position, "the batch is tested against itself", "another batch")
