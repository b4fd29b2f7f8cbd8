"""The plan was changed after the sheet was printed.

The sheet carries the hash of the plan that it was printed from, and the record repeats it. When
they differ, the readings were made against other numbers than those the record now shows. Where
the archive is kept in git, the plan that the sheet was printed from is looked for there, and what
was changed is listed value by value. One mistyped value is known without git, by the hash. What is
found only because of the change is reported with it.

Fix: restore the plan, or raise its revision and print and issue the sheet again
Source: 21 CFR 211.188: the record reproduces the master that was issued
Passes:
    {}
Fails:
    issued: {plan: 00000000, copy: 1}
"""

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from reportgen.assessment.assess import PlanThen, same_trouble
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity, Told, is_of_name
from reportgen.checks.slip_undone import undone, warns_of_harm
from reportgen.record.each_value import values_in
from reportgen.record.finding import Finding
from reportgen.record.suggest import did_you_mean

GROUP = Group.RECORD
SEVERITY = Severity.MINOR
ALSO = {Severity.MAJOR: "as heavy as the heaviest of what comes of it"}


def check(batch: Assessment) -> Remarks:
    """Compare the issued hash with the plan's."""
    issued, now = batch.record.issued, batch.batch.plan_hash
    if issued is not None and (slip := mistyped_hash(str(issued.plan), now)):
        yield Remark(issued.plan.position, f"`{issued.plan}` is nearly the plan's hash", now, slip)
    elif issued is not None and str(issued.plan) != now:
        said = f"the sheet was printed from plan {issued.plan}, the plan is now {now}"
        more = f"; {_what(batch.plan_then)}" if batch.plan_then is not None else ""
        yield Remark(issued.plan.position, said + more, now)


def mistyped_hash(typed: str, now: str) -> str:
    """Return what to do of a hash that is a slip or two from the true one; empty for any other."""
    slip = did_you_mean(typed, [now]) if typed != now else ""
    return f"{slip} Compare with the foot of the sheet" if slip else ""


def check_findings(
    batch: Assessment, findings: Sequence[Finding], told: Told
) -> Iterator[tuple[Remark | None, set[Finding]]]:
    """Yield the change with what would not be found by the plan that was printed.

    None where other things would be: the day went by the plan as it is now. What is wrong with the
    plan itself and what warns of harm is always told for itself.
    """
    plan = batch.plan_then.plan if batch.plan_then is not None else None
    own = {finding for finding in findings if finding.rule == NAME}
    places = (value.position for value in values_in(batch.record.plan))
    planned = {(place.file, place.line) for place in places if place is not None}
    if own and any(
        is_of_name(f.rule) and f.remedy.startswith("did you mean")
        and (f.position.file, f.position.line) in planned for f in findings
    ):
        # A mistyped name changes the plan too: once it is right, it may be the plan that was printed.
        yield None, own
        return
    if plan is None or not own:
        return
    record = batch.record.with_members(plan=plan)
    gone, come = undone(batch, findings, told, record)
    # The lines of that plan were others; what is found by both is the same all the same.
    both = {_trouble(finding) for finding in gone} & {_trouble(finding) for finding in come}
    # What is said of brewery and stock says nothing of the day.
    own_file = batch.batch.file
    if any(
        f.severity >= SEVERITY for f in come
        if _trouble(f) not in both and f.position.file == own_file
    ):
        return

    def only_follows(finding: Finding) -> bool:
        if _trouble(finding) in both or warns_of_harm(finding):
            return False
        place = finding.position.file, finding.position.line
        return finding.severity < SEVERITY or place not in planned

    follows = set(filter(only_follows, gone))
    if follows:
        heaviest = max(SEVERITY, *(finding.severity for finding in follows))
        for said in check(batch):
            expected = f"{said.expected}; other findings that come of it: {len(follows)}"
            yield replace(said, expected=expected, severity=heaviest), own | follows


NAME = "plan-changed-since-issued"


def _trouble(finding: Finding) -> tuple[str, str]:
    return finding.rule, same_trouble(finding.message)


def _what(then: PlanThen) -> str:
    """Say what was changed, or why that cannot be told."""
    if then.why_not:
        return f"the change cannot be shown: {then.why_not}"
    told = "; ".join(f"{c.place}: {c.before or BLANK} → {c.after or BLANK}" for c in then.changes)
    if not then.revision:
        return f"by its hash one value differs: {told}"
    if not then.changes:
        # What stands above the values: its number, its author, the batch that it starts from.
        return f"every value is as in revision {then.revision} of {then.day}"
    return f"changed since revision {then.revision} of {then.day}: {told}"


BLANK = "(none)"
