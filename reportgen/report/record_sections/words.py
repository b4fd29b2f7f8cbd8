"""Pieces that several sections share: a text with its label, people, numbers of things."""

from __future__ import annotations

from reportgen.assessment.assess import Assessment
from reportgen.assessment.causes import SEVERITIES
from reportgen.record.values import Text


def plural(number: int, word: str) -> str:
    """Return a number of things: ``1 note``, ``2 notes``."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def person(assessment: Assessment, initials: Text | str | None) -> str:
    """Return initials with the name that the brewery gives them; empty for none."""
    if not initials:
        return ""
    name = assessment.brewery.people.get(str(initials))
    return f"{initials}, {name}" if name else str(initials)


def severity_rank(severity: str) -> int:
    """Return the place of a severity, 0 for the worst; one that is unknown comes last."""
    return SEVERITIES.index(severity) if severity in SEVERITIES else len(SEVERITIES)
