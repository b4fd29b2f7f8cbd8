"""The mash or the boil took by the clock another time than planned.

A mash cut short may not have converted; a short boil leaves bitterness in the hops and what it
should drive off in the wort; a long one makes less, stronger and more bitter wort. More often a time
is typed wrong. Reported is a quarter too short, from 10 min on, and of a boil half as long again, from
45 min on: a mash may stand. More than four hours in the plan are not compared. What a boil `paused`
is taken off; a boil of more than 18 hours is none, and is not counted.

Fix: compare the times with the sheet; if true, write `paused`, or this check into a deviation's `findings`
Source: the record against its plan; a quarter and a half: common practice, no source
Passes:
    plan: {boil: {time: 60 min}}
    brew_day: {date: 2026-03-14, boil: {started: 11:50, ended: 13:05}}
Fails:
    plan: {boil: {time: 60 min}}
    brew_day: {date: 2026-03-14, boil: {started: 11:50, ended: 12:05}}
"""

from reportgen.assessment.day_clocks import is_over_long, minutes_between, paused
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity

GROUP = Group.RECORD
SEVERITY = Severity.MINOR
ALSO = {Severity.NOTE: "longer than planned"}

SHORT, LEAST = 0.75, 10.0
"""Share of the planned length below which it is short, and the minutes that then lack at least."""
LONG, MOST = 1.5, 45.0
"""Times the planned length from which on a boil is long, and the minutes too much at least."""
STAND = 240.0
"""Minutes planned beyond which the clock is not compared."""


def check(batch: Assessment) -> Remarks:
    """Compare the clock of mash and boil with the plan."""
    record, day = batch.record, batch.record.brew_day
    if day is None:
        return
    boil, mash, run_off = day.boil, day.mash, day.run_off
    rests = [rest.time.value for rest in record.plan.mash.rests] if batch.case.is_mashed else []
    for what, planned, started, ended, without in (
        ("boil", record.plan.boil.time.value, boil.started if boil else None,
         boil.ended if boil else None, paused(boil) if boil else 0.0),
        ("mash", sum(rests), mash.started if mash else None,
         run_off.started if run_off else None, 0.0),
    ):  # fmt: skip
        if ended is None or not 0 < planned <= STAND:
            continue
        may_last = what == "mash"
        if not may_last and is_over_long(record, started, ended, without):
            yield Remark(
                ended.position,
                f"no boil lasts from {started} to {ended}; the planned one is counted",
                f"about {planned:g} min, as planned, or what it `paused`",
            )
        took = minutes_between(record, started, ended, without, planned)
        if took is None:
            continue
        is_short = took < SHORT * planned and planned - took >= LEAST
        is_long = not may_last and took >= LONG * planned and took - planned >= MOST
        if is_short or is_long:
            yield Remark(
                ended.position,
                f"the {what} took {took:g} min, from {started} to {ended}",
                f"about {planned:g} min, as planned",
                severity=None if is_short else Severity.NOTE,
            )
