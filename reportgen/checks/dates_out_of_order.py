"""The sections of the record are not in order of time.

A beer is brewed, then fermented, packed, tasted and decided upon. A date before that of the
section above is mistyped, often in the year or by swapping day and month. Where most of the days
come before the brew day, it is the brew day. So is a brew day after which nothing is written, or
nothing packaged, for more than half a year and ten times as long as planned; 300 days where no
time is planned. A batch whose number begins with a year is not brewed in the year beside it, save
within two months of it. Nor is a reading with a day of its own outside the work that it is of, nor
does the gravity fall on after the day that fermentation is written to have ended.

Fix: compare the dates with the sheets
Source: order of the work; the tenfold: common practice, no source
Passes:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-24}
Fails:
    brew_day: {date: 2026-03-14}
    packaging: {date: 2026-03-04}
"""

import datetime
import re

from reportgen.assessment.log import in_time
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.when import date_of, days_after_brewing, is_brewed_last
from reportgen.record.each_value import values_in
from reportgen.record.fields import Entry
from reportgen.record.model.batch import Record
from reportgen.record.values import Day, Moment, Reading

GROUP = Group.RECORD
SEVERITY = Severity.MINOR
CONTRADICTS = True

BESIDE = 60
"""Days by which a brew day may lie outside the year of the batch's number."""

LONG, TIMES, UNPLANNED = 180, 10, 30
"""Days, times the planned length of the fermentation, and the days taken where none is planned."""


def check(batch: Assessment) -> Remarks:
    """Compare the dates of the sections."""
    record = batch.record
    brewed = record.brew_day.date if record.brew_day else None
    is_last = is_brewed_last(record)
    if brewed is not None and is_last:
        what, first = min(days_after_brewing(record), key=lambda day: date_of(day[1]))
        yield Remark(
            brewed.position, f"the brew day {brewed} is after {what}, {first}, and what follows it",
            f"{date_of(first)} or earlier",
        )
    days = [] if is_last else [("brew day", brewed)]
    if record.fermentation is not None and record.fermentation.log and not is_last:
        first = in_time(record)[0].at
        if brewed is not None and first.at.date() < brewed.date:
            yield Remark(first.position, f"{first} is before the brew day", f"from {brewed} on")
    if record.fermentation is not None:
        days.append(("end of fermentation", record.fermentation.finished))
    days.append(("packaging", record.packaging.date if record.packaging else None))
    days += [("tasting", session.date) for session in record.tasting]
    pitch = record.brew_day.pitch if record.brew_day is not None else None
    at, packed = pitch.at if pitch is not None else None, record.packed_last
    # Where there is a log, log-outside-fermentation says it.
    if isinstance(at, Moment) and packed and not record.log and at.at.date() > packed.date:
        yield Remark(at.position, f"pitched {at}, packaging on {packed}", f"{packed} or earlier")
    before = None
    for name, day in days:
        if day is None:
            continue
        # Nothing ferments out on its brew day.
        soon = name == "end of fermentation" and day.date == brewed.date if brewed else False
        if before is not None and (soon or day.date < before[1].date):
            yield Remark(
                day.position,
                f"{name} on {day}, {before[0]} on {before[1]}",
                f"{before[1]} or later" if not soon else f"after {before[1]}",
            )
        before = (name, day)
    if not is_last:
        yield from _read_on_another_day(record)
        yield from _falls_on(batch)
    yield from _too_long(record)
    yield from _of_another_year(batch)
    yield from _filled_later(record)
    packed = record.packaging.date if record.packaging else None
    if record.analysis is not None and packed is not None:
        analysed = record.analysis.date
        if analysed.date < packed.date:
            yield Remark(
                analysed.position, f"analysis on {analysed}, packaging on {packed}",
                f"{packed} or later",
            )


def _of_another_year(batch: Assessment) -> Remarks:
    """Compare the brew day with the year that the batch's number begins with."""
    numbered = re.match(r"((?:19|20)[0-9]{2})[-_./]", batch.batch.id)
    if numbered is None or batch.record.brew_day is None:
        return
    year, brewed = int(numbered[1]), batch.record.brew_day.date
    near = {(brewed.date + datetime.timedelta(days=by)).year for by in (-BESIDE, BESIDE)}
    if year not in near and abs(brewed.date.year - year) == 1:
        yield Remark(
            brewed.position, f"batch {batch.batch.id} was brewed on {brewed}",
            f"a day in {year}, as its number says",
        )


def _filled_later(record: Record) -> Remarks:
    """Hold the days of other containers against the end of fermentation and the first ones."""
    packed, fermentation = record.packaging, record.fermentation
    ended = fermentation.finished if fermentation is not None else None
    for entry in packed.also if packed is not None else ():
        if entry.date is None or packed is None:
            continue
        earliest = ended or (record.brew_day.date if record.brew_day is not None else None)
        if earliest is not None and entry.date.date < earliest.date:
            what = "end of fermentation" if ended is not None else "brew day"
            yield Remark(
                entry.date.position, f"{entry.into} filled on {entry.date}, {what} on {earliest}",
                f"{earliest} or later",
            )  # fmt: skip
        elif (days := abs((entry.date.date - packed.date.date).days)) > LONG:
            yield Remark(
                entry.date.position, f"{entry.into} filled {days} days from packaging on "
                f"{packed.date}", "the year of both, as on the sheets",
            )  # fmt: skip


def _read_on_another_day(record: Record) -> Remarks:
    """Hold the day that a reading has of its own against the work that it is of."""
    brewed, packed, made = record.brew_day, record.packaging, record.fermentation
    spans: list[tuple[Entry | Reading | None, Day | None, Day | None, str]] = []
    if brewed is not None:
        end = (made.finished if made is not None else None) or record.packed_last
        spans.append((brewed, None, end, "the end of fermentation"))
        if made is not None and made.final_gravity is not None:
            spans.append((made.final_gravity, brewed.date, None, "the brew day"))
    if packed is not None:
        filled = [(packed.pressure, packed.date), *((o.pressure, o.date) for o in packed.also)]
        spans += [(moment, day or packed.date, None, "packaging") for moment, day in filled]
    for part, first, last, what in spans:
        for reading in values_in(part) if isinstance(part, Entry) else (part,):
            at = reading.at if isinstance(reading, Reading) else None
            if not isinstance(at, Moment):
                continue
            if first is not None and at.at.date() < first.date:
                yield Remark(at.position, f"read {at}, {what} on {first}", f"{first} or later")
            elif last is not None and at.at.date() > last.date:
                yield Remark(at.position, f"read {at}, {what} on {last}", f"{last} or earlier")


def _falls_on(batch: Assessment) -> Remarks:
    """Look for a gravity that falls on after the day on which it is written to have been steady."""
    made = batch.record.fermentation
    ended = made.finished if made is not None else None
    read = [p for p in batch.log if p.gravity is not None]
    before = [p for p in read if ended is not None and p.at.date() <= ended.date]
    if ended is None or not before or before[-1] is read[-1]:
        return
    one, last = before[-1], read[-1]
    assert one.gravity is not None and last.gravity is not None
    if one.gravity - last.gravity > 2 * (one.gravity_uncertainty + last.gravity_uncertainty):
        yield Remark(
            ended.position,
            f"end of fermentation on {ended}, and the log falls on from {one.gravity:.4f} to "
            f"{last.gravity:.4f}",
            "the day from which on readings are steady",
        )


def _too_long(record: Record) -> Remarks:
    """Compare the time to the first day after brewing, and to packaging, with the plan."""
    if record.brew_day is None or is_brewed_last(record):
        return
    brewed, time = record.brew_day.date, record.plan.fermentation.time
    most = max(LONG, TIMES * (time.value / 1440 if time is not None else UNPLANNED))
    plan = f"the plan says {time.text}" if time is not None else "the plan has no time for it"
    days = days_after_brewing(record)
    what, first = min(days, key=lambda day: date_of(day[1]), default=("", None))
    packed = record.packaging.date if record.packaging is not None else None
    if first is not None and (took := (date_of(first) - brewed.date).days) > most:
        yield Remark(
            brewed.position, f"{took} days from the brew day {brewed} to {what}, {first}; {plan}",
            "the year of both, as on the sheets",
        )
    elif packed is not None and (took := (packed.date - brewed.date).days) > most:
        yield Remark(
            packed.position, f"packed {took} days after brewing on {brewed}; {plan}",
            "the year of both, as on the sheets",
        )
