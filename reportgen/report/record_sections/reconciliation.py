"""Reconciliation: volume and extract stage by stage, what the packed beer carries."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from reportgen.assessment.assess import Assessment
from reportgen.assessment.balance import closures, extract_steps, extract_title
from reportgen.assessment.carried import carried
from reportgen.record.printed import BLANK, Units


class ClosureLine(NamedTuple):
    """The balance of one stage, its title with the unit."""

    title: str
    went_in: str
    came_out: str
    loss: str
    loss_name: str
    unexplained: str
    uncertainty: str
    verdict: str
    lines: str


class ExtractLine(NamedTuple):
    """Extract at one stage: kg, share of the grist, share of the stage before."""

    title: str
    planned: str
    mass: str
    share: str
    uncertainty: str
    stage_share: str
    lines: str


def closure_lines(
    assessment: Assessment, units: Units, numbers: Mapping[str, str]
) -> tuple[ClosureLine, ...]:
    """Return the balance of volume of each stage, and of what the packed beer carries."""
    return tuple(
        ClosureLine(
            f"{c.title}, {units.label(c.kind)}",
            units.number(c.went_in, c.kind, c.decimals),
            units.number(c.came_out, c.kind, c.decimals),
            units.number(c.known_loss, c.kind, c.decimals),
            c.loss_name,
            units.difference(c.unexplained, c.kind, c.decimals) if c.measured else BLANK,
            units.plus_minus(c.uncertainty, c.kind, c.decimals) if c.measured else "",
            "not all read" if not c.measured else
            "within U" if c.is_explained else "not explained",
            numbers.get(c.title, ""),
        )
        for c in (*closures(assessment), *carried(assessment))
    )


def extract_lines(
    assessment: Assessment, units: Units, numbers: Mapping[str, str]
) -> tuple[ExtractLine, ...]:
    """Return the extract that reached each stage."""
    lines = []
    before: float | None = None
    for step in extract_steps(assessment):
        share = "" if step.actual is None else f"{step.actual * 100:.1f}"
        stage = ""
        if before and step.actual is not None:
            stage = f"{step.actual / before * 100:.1f}"
        lines.append(
            ExtractLine(
                step.title,
                f"{step.planned * 100:.1f}",
                "" if step.mass is None else units.text(step.mass, "mass", 2),
                share,
                f"±{step.uncertainty * 100:.1f}" if step.uncertainty else "",
                stage,
                numbers.get(extract_title(step), ""),
            )
        )
        before = step.actual
    return tuple(lines)
