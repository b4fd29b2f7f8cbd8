"""``propose``: amounts that bring a plan to its aims on its kit, as YAML to paste."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping

from msgspec import Struct
from msgspec.structs import replace

from reportgen.forecast.aims import Aimed, NoAim, aims_of, read_aim
from reportgen.forecast.handles import Choice, all_names
from reportgen.forecast.propose import DRY, NothingToChange
from reportgen.planning.aims_missed import aim_finding, contradicted, findings_of, stopped
from reportgen.planning.proposal_text import as_data, as_text, table
from reportgen.planning.proposing import (
    Outcome,
    PlanInWork,
    Unreadable,
    most_of,
    outcome,
    plan_of,
    with_set,
)
from reportgen.planning.swapping import Swap, swapped
from reportgen.record.failure import Misuse
from reportgen.record.finding import Finding, Severity, render_text
from reportgen.record.load import Archive, Batch
from reportgen.record.suggest import did_you_mean
from reportgen.record.units import UnitError
from reportgen.verbs.progress import progress
from reportgen.verbs.where import loaded, one_batch, say_unread

MOST_ERRORS = 5
"""Errors shown of a plan that cannot be read; `check` has all of them."""


class _Request(Struct, frozen=True):
    """What is asked of a plan: the aims by name, which of them on the command line, what may move.

    ``plan`` has the values of ``--set`` and a swap in it, ``before`` is as it was written.
    """

    before: PlanInWork
    plan: PlanInWork
    aims: Mapping[str, Aimed]
    asked: frozenset[str]
    choice: Choice
    remarks: tuple[str, ...]
    swap: Swap | None = None


def run(arguments: argparse.Namespace) -> int:
    """Print the amounts, or what stands in their way; 1 when an aim cannot be met."""
    archive, paths = loaded([arguments.path])
    batch, file = one_batch(archive, paths, "propose")
    why = [f for f in archive.findings if f.severity is Severity.ERROR]
    try:
        plan = plan_of(archive, batch) if batch is not None and batch.record else None
    except Unreadable as error:
        plan, why = None, [*error.findings] or why
    if plan is None or batch is None:
        _print_findings(why[:MOST_ERRORS])
        say_unread(archive, file)
        return 1
    wort = plan.record.wort_from
    if wort is not None:
        raise Misuse(f"this batch ferments wort of {wort.batch}: its amounts are in that plan")
    request = _requested(plan, batch, arguments)
    proposed = _proposed(request, batch, archive, arguments.both)
    if isinstance(proposed, Finding):
        _print_findings([proposed])
        return 1
    missed = findings_of(proposed, batch, archive, request.asked)
    _print_outcome(proposed, missed, request, arguments)
    return 1 if missed else 0


def _requested(plan: PlanInWork, batch: Batch, arguments: argparse.Namespace) -> _Request:
    """Return what the plan and the command line ask for. Misuse for what cannot be asked."""
    before, remarks, choice, swap = plan, [], Choice(), None
    in_plan, asked_for = parted(arguments.aim)
    if arguments.set or in_plan:
        plan = with_set(plan, [*arguments.set, *in_plan])
    assert batch.record is not None
    written = aims_of(batch.record.plan)
    aims: dict[str, Aimed] = {
        name: replace(aimed, position=written[name].position if name in written else None)
        for name, aimed in aims_of(plan.record.plan).items()
    }
    try:
        if arguments.swap:
            swap = swapped(plan, arguments.swap)
            plan, aims, choice = swap.plan, dict(swap.aims), swap.choice
            remarks += [swap.remark] if swap.remark else []
        asked = {aimed.name: aimed for aimed in map(read_aim, asked_for)}
    except UnitError as error:
        raise Misuse(f"--aim: {error}; write {error.expected}") from error
    except (NoAim, Unreadable) as error:
        raise Misuse(str(error)) from error
    aims, given_way = laid_over(aims, asked)
    choice = chosen(plan, arguments, choice)
    if not aims and not arguments.swap and not in_plan:
        raise Misuse(
            "nothing is aimed at: write aims into the plan, or add --aim, e.g. --aim bitterness=35"
        )
    return _Request(before, plan, aims, frozenset(asked), choice, (*remarks, *given_way), swap)


def _proposed(
    request: _Request, batch: Batch, archive: Archive, both: bool
) -> Outcome | Finding:
    """Return the amounts, or the finding that says why there are none."""
    plan, aims = request.plan, request.aims
    proposed = stopped(plan, batch, archive) or contradicted(plan, batch, aims, archive)
    if proposed is not None:
        return proposed
    if not aims:
        return Outcome(request.before, plan, (), (), ())
    try:
        made = outcome(
                plan, aims, request.choice, both, request.before, progress("searches")
            )
        if request.swap is None or request.swap.is_in(made.after.tree):
            return made
        return aim_finding(
            batch, archive, None, f"no {request.swap.new[1]} is left in a beer that is kept alike",
            "a swap by which some of it stays", "swap it for something nearer, or write an aim",
        )
    except NothingToChange as error:
        return aim_finding(
            batch, archive, next(iter(aims.values())), str(error),
            "an amount that may change and moves it",
            "leave out --hold, or name another amount with --change",
        )


def _print_outcome(
    proposed: Outcome, missed: list[Finding], request: _Request, arguments: argparse.Namespace
) -> None:
    if arguments.format == "json":
        print(json.dumps(as_data(proposed), ensure_ascii=False, indent=1))
    elif missed and not arguments.nearest:
        _print_findings(missed)
        print("The nearest that can be had; --nearest prints its amounts:", file=sys.stderr)
        print("\n".join(table(proposed)), file=sys.stderr)
    else:
        print("\n".join(as_text(proposed, request.remarks)))
        _print_findings(missed)


IN_PLAN = {
    "volume": "fermenter_volume", "fermenter_volume": "fermenter_volume",
    "carbonation": "packaging.carbonation",
}  # fmt: skip
"""Aims that a plan states as they are: nothing has to be found for them."""


def parted(aims: list[str]) -> tuple[list[str], list[str]]:
    """Return which aims are values of the plan, as places with values, and which are to be met."""
    stated, others = [], []
    for text in aims:
        name, sign, value = text.partition("=")
        place = IN_PLAN.get(name.strip())
        if place is not None and sign:
            stated.append(f"{place}={value}")
        else:
            others.append(text)
    return stated, others


def laid_over(
    aims: Mapping[str, Aimed], asked: Mapping[str, Aimed]
) -> tuple[dict[str, Aimed], list[str]]:
    """Return the aims of a plan with those asked for now, and which of the plan give way.

    Original gravity, how far it is fermented and alcohol are two aims, not three, and how far is
    one, in whichever way it is said: where one is asked for, the plan's other ways of it, and its
    alcohol, or else its original gravity, follow.
    """
    kept, given_way = {**aims, **asked}, []

    def gives_way(name: str) -> None:
        del kept[name]
        words = name.replace("_", " ")
        given_way.append(f"the plan's aim for {words} gives way to what is asked for")

    if {*DRY} & set(asked):
        for name in [name for name in DRY if name in kept and name not in asked]:
            gives_way(name)
    dry = [name for name in DRY if name in kept]
    trio = {"original_gravity", "alcohol", *dry}
    if not trio & set(asked) or not dry or not trio <= set(kept):
        return kept, given_way
    order = ["original_gravity" if "alcohol" in asked else "alcohol", *dry]
    free = [name for name in order if name not in asked]
    if free:
        gives_way(free[0])
    return kept, given_way


def chosen(plan: PlanInWork, arguments: argparse.Namespace, choice: Choice) -> Choice:
    """Return what may move, with what is named on the command line. Misuse for no such name."""
    known = all_names(plan.case)
    for name in (*arguments.change, *arguments.hold):
        if name not in known:
            hint = did_you_mean(name, sorted(known))
            raise Misuse(f"the plan has no `{name}` to change or to hold{hint and f'; {hint}'}")
    return Choice(
        frozenset(arguments.change) or choice.only, choice.held | frozenset(arguments.hold),
        most_of(plan),
    )


def _print_findings(findings: list[Finding]) -> None:
    for finding in findings:
        print(render_text(finding), file=sys.stderr)
        print(file=sys.stderr)
