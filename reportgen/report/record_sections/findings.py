"""What the checks found, and which are silenced."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.report.plan_text import sentence
from reportgen.report.record_sections.words import Item


class CheckLine(NamedTuple):
    """What a check says of the record: how much it weighs, what, where, how to fix it."""

    severity: str
    message: str
    check: str
    place: str
    remedy: str


def check_lines(assessment: Assessment) -> Iterator[CheckLine]:
    """Say what the checks found, worst first, save what a cause of the review names as its own."""
    review = assessment.record.review
    named = {str(f) for d in (review.deviations if review else ()) for f in d.findings}
    for finding in sorted(assessment.findings, key=lambda f: (-f.severity.rank, f.place)):
        if finding.rule in named:
            continue
        where = finding.position
        yield CheckLine(
            finding.severity.value,
            sentence(finding.message),
            finding.rule,
            f"{where.file}, line {where.line}",
            finding.remedy.replace("`", ""),
        )


def silenced_items(assessment: Assessment) -> tuple[Item, ...]:
    """Return the checks that the record silences, each with the reason it gives."""
    review = assessment.record.review
    return tuple(
        Item(str(s.check), " ".join(str(s.because).split()))
        for s in (review.silenced if review is not None else ())
    )
