"""What the checks found, and which are silenced."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.record.finding import Severity
from reportgen.report.parts import Labelled
from reportgen.report.plan_text import sentence

MOST_OF_ONE = 4
"""Lines of one check that are printed: one slip, as a wrong day, can make one of each reading."""


class CheckLine(NamedTuple):
    """What a check says of the record: how much it weighs, what, where, how to fix it."""

    severity: str
    message: str
    check: str
    place: str
    remedy: str


def check_lines(assessment: Assessment) -> Iterator[CheckLine]:
    """Say what the checks found, worst first, save what a cause of the review names as its own.

    Of many findings of one check and severity the first are printed, and how many there are.
    """
    named = {str(f) for d in assessment.record.deviations for f in d.findings}
    told = [f for f in assessment.findings if f.rule not in named]
    counts = Counter((f.rule, f.severity) for f in told)
    printed: Counter[tuple[str, Severity]] = Counter()
    for finding in sorted(told, key=lambda f: (-f.severity.rank, f.place)):
        where, kind = finding.position, (finding.rule, finding.severity)
        printed[kind] += 1
        left = counts[kind] - printed[kind]
        if printed[kind] > MOST_OF_ONE or (printed[kind] == MOST_OF_ONE and left):
            if printed[kind] == MOST_OF_ONE:
                more = f"And {left + 1} more of this check."
                yield CheckLine(finding.severity.value, more, finding.rule, where.file, "")
            continue
        yield CheckLine(
            finding.severity.value,
            sentence(finding.message),
            finding.rule,
            f"{where.file}, line {where.line}",
            finding.remedy.replace("`", ""),
        )


def silenced_items(assessment: Assessment) -> tuple[Labelled, ...]:
    """Return the checks that the record silences, each with the reason it gives."""
    return tuple(
        Labelled(str(s.check), " ".join(str(s.because).split())) for s in assessment.record.silenced
    )
