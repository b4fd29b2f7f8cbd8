"""What stands in the way of a proposal, as findings: an aim out of reach, aims that contradict."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from reportgen.forecast.aims import Aimed, contradiction
from reportgen.forecast.arguments import why_stopped
from reportgen.planning.proposing import (
    Outcome,
    PlanInWork,
)
from reportgen.record.finding import Finding, Position
from reportgen.record.load import Archive, Batch
from reportgen.record.rules import finding_of
from reportgen.report.figure_text import figure_title, typed_number

HELD = "nothing that may change moves it"

RULE = "aim-out-of-reach"


def aim_finding(
    batch: Batch, archive: Archive, aimed: Aimed | None, message: str, expected: str, remedy: str
) -> Finding:
    position = aimed.position if aimed is not None else None
    where = position or Position(batch.file, 1, 1, 1)
    return finding_of(RULE, where, message, expected, remedy,
                 archive.line(where) if position is not None else "")


def stopped(plan: PlanInWork, batch: Batch, archive: Archive) -> Finding | None:
    """Return why a plan has no forecast to go by."""
    for stage, error in plan.stopped:
        why = why_stopped(error, plan.system)
        return aim_finding(batch, archive, None, f"the forecast stops at {stage}: {why}",
                        "a plan that the forecast goes through", "correct the plan first")
    return None


def contradicted(
    plan: PlanInWork, batch: Batch, aims: Mapping[str, Aimed], archive: Archive
) -> Finding | None:
    contradicted = contradiction(aims, plan.case)
    if contradicted is None:
        return None
    name, why = contradicted
    return aim_finding(batch, archive, aims[name], f"the aims contradict each other: {why}",
                    "aims that one beer can have", "leave one of them out, or correct it")


def findings_of(
    proposed: Outcome, batch: Batch, archive: Archive, asked: Collection[str] = ()
) -> list[Finding]:
    """Return a finding for each aim that is missed, and for what binds the plan as a whole.

    An aim that nothing may move is one where it was ``asked`` for.
    """
    system = proposed.after.system
    findings = []
    if proposed.binding:
        findings.append(aim_finding(
            batch, archive, None, "; ".join(proposed.binding), "a plan that fits the kit",
            "a smaller volume, another kit or other aims",
        ))  # fmt: skip
    for aimed, settled in proposed.settled:
        if settled.is_met and not (settled.is_held and aimed.name in asked):
            continue
        if settled.why and {*settled.why} <= {*proposed.binding}:
            # Missed since the kit is too small, which is said.
            continue
        nearest = typed_number(aimed.aim.key, settled.after, system)
        title = figure_title(aimed.aim.key)
        wanted_text = typed_number(aimed.aim.key, aimed.aim.wanted, system)
        findings.append(aim_finding(
            batch, archive, aimed,
            f"{title} of {wanted_text} is out of reach: {'; '.join(settled.why) or HELD}",
            f"the nearest that can be had is {nearest}",
            "change the aim, or what binds",
        ))  # fmt: skip
    return findings
