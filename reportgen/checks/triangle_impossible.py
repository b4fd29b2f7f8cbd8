"""A triangle test cannot have been as it is written.

Each assessor gives one response, so there is at least one assessor, and no more correct responses
than assessors. A test against the batch itself, or one not yet packed that day, cannot be either.
The record of the other batch need not have the test; where it has, of the same day, it is the same.

Fix: compare with the tasting sheets
Source: ISO 4120
Passes:
    others: {2026-02: {name: Other}}
    brew_day: {date: 2026-03-14}
    tasting: [{date: 2026-04-10, triangle: {against: 2026-02, assessors: 12, correct_responses: 8}}]
Fails:
    others: {2026-02: {name: Other}}
    brew_day: {date: 2026-03-14}
    tasting: [{date: 2026-04-10, triangle: {against: 2026-02, assessors: 8, correct_responses: 12}}]
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.record.model.later import Session, Triangle
from reportgen.record.values import Day

GROUP = Group.TASTING
SEVERITY = Severity.MINOR


def check(batch: Assessment) -> Remarks:
    """Look at each triangle test."""
    for session in batch.record.tasting:
        test = session.triangle
        if test is None:
            continue
        for count, least in ((test.assessors, 1), (test.correct_responses, 0)):
            if count.value < least or count.value % 1:
                yield Remark(
                    count.position, f"{count.text} is not a number of people", f"{least} or more"
                )
        if test.correct_responses.value > test.assessors.value:
            yield Remark(
                test.correct_responses.position,
                f"{test.correct_responses.text} right of {test.assessors.text}",
                f"at most {test.assessors.text}",
            )
        if str(test.against) == batch.batch.id:
            yield Remark(test.against.position, "the batch is tested against itself", "another batch")
            continue
        ready = _ready(batch, str(test.against))
        if ready is not None and ready.date > session.date.date:
            yield Remark(
                test.against.position,
                f"tasted on {session.date}, batch {test.against} is of {ready}",
                f"a batch packed by {session.date}",
            )


        # Told once, at the later of the two.
        there = _beside(batch, session) if str(test.against) < batch.batch.id else None
        if there is not None and _counts(there) != _counts(test):
            right, of = _counts(there)
            yield Remark(
                test.correct_responses.position,
                f"{test.correct_responses.text} right of {test.assessors.text}, and {right} of {of}"
                f" in the record of {test.against}",
                f"{right} of {of} in both",
            )


def _counts(test: Triangle) -> tuple[str, str]:
    return test.correct_responses.text, test.assessors.text


def _beside(batch: Assessment, session: Session) -> Triangle | None:
    """Return the test of a day as the record of the other batch has it; None without one."""
    record = batch.archive.record(str(session.triangle.against)) if session.triangle else None
    tests = [
        s.triangle for s in (record.tasting if record is not None else ())
        if str(s.date) == str(session.date) and s.triangle is not None
        and str(s.triangle.against) == batch.batch.id
    ]  # fmt: skip
    return tests[0] if len(tests) == 1 else None


def _ready(batch: Assessment, other: str) -> Day | None:
    """Return the day from which there is beer of another batch, as far as it is known."""
    record = batch.archive.record(other)
    if record is None:
        return None
    packed, brewed = record.packaging, record.brew_day
    if packed is not None:
        return packed.date
    return brewed.date if brewed is not None else None
