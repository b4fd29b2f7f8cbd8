"""The clock runs backwards over the brew day.

Times on a brew day follow the work: mash, run-off, boil, pitch. A time before the one above it is
mistyped or in the wrong line. So is the time of a reading before its work: a mash temperature
before the mash, a cast-out volume before the boil, the end of a rest before its beginning, or any
reading of the mash, the run-off or the boil after the yeast was pitched.
Readings from the preparation (strike and sparge liquor, malt, yeast) may come earlier. Malt is
weighed before the mash, hops before the end of their boil. A day may run past midnight: only a
step back of less than half a day is a fault, and of more than an hour in a night in which the clocks
may be put back.

Fix: compare the times with the sheet
Source: order of the work
Passes:
    brew_day:
      date: 2026-03-14
      mash:
        started: 09:10
        strike_temperature: {read: 72 C, at: 09:05}
        mash_temperature: {read: 66 C, at: 09:20}
      run_off: {started: 10:20}
      boil: {started: 11:50, ended: 12:50}
Fails:
    brew_day:
      date: 2026-03-14
      mash: {started: 09:10}
      run_off: {started: 10:20}
      boil: {started: 12:50, ended: 11:50}
"""

from reportgen.assessment.readings import reading_at
from reportgen.assessment.times import may_cross_change, moment
from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.forecast.figures import FIGURES, READ
from reportgen.record.model.brew_day import BrewDay
from reportgen.record.values import Clock, Moment, When

GROUP = Group.RECORD
SEVERITY = Severity.MINOR
CONTRADICTS = True

HALF_A_DAY = 12 * 3600
"""Seconds; a longer step back is a day that ran past midnight."""


def check(batch: Assessment) -> Remarks:
    """Go through the times of the brew day in order."""
    day = batch.record.brew_day
    if day is None:
        return
    pitched = day.pitch.at if day.pitch else None
    times = [
        day.mash.started if day.mash else None,
        day.run_off.started if day.run_off else None,
        *(running.at for running in (day.run_off.runnings if day.run_off else ())),
        day.boil.started if day.boil else None,
        day.boil.ended if day.boil else None,
        day.boil.hop_stand_ended if day.boil else None,
        day.boil.below_60_at if day.boil else None,
        pitched,
    ]
    before: When | None = None
    for at in times:
        if at is None:
            continue
        if isinstance(at, Moment):
            # One with its day may be of another: what was soured in the kettle is boiled later.
            if at.at.date() < day.date.date:
                yield Remark(at.position, f"{at} is before the brew day", f"{day.date} or later")
            elif isinstance(before, Moment) and at.at < before.at and not _put_back(batch, before, at):
                yield Remark(at.position, f"{at} comes after {before}", f"{before} or later")
            before = at
            continue
        # What is written without a day after one with it is of that day, or past its midnight.
        if before is not None and _is_back(batch, before, at):
            yield Remark(at.position, f"{at} comes after {before}", f"{before} or later")
        before = at
    yield from _readings(batch, day)
    yield from _weighed(batch, day)
    begins, ends = (_clock(batch, key) for key in ("mash_temperature", "mash_end_temperature"))
    if begins is not None and ends is not None and _is_back(batch, begins, ends):
        title = FIGURES["mash_end_temperature"].title
        yield Remark(
            ends.position, f"{title}: read at {ends}, before its beginning at {begins}",
            f"{begins} or later",
        )  # fmt: skip


def _is_back(batch: Assessment, before: When, at: Clock) -> bool:
    """Whether a time is before another of the same day."""
    return 0 < before.minutes - at.minutes < 720 and not _put_back(batch, before, at)


def _put_back(batch: Assessment, before: When, at: When) -> bool:
    """Whether a time may be later than another by a clock that was put back between the two."""
    is_near = 0 < before.minutes - at.minutes <= 60
    return is_near and may_cross_change(batch.record, before, at)


def _clock(batch: Assessment, key: str) -> Clock | None:
    """Return the clock that a figure was read at; None for none."""
    reading = reading_at(batch.record, FIGURES[key])
    return reading.at if reading is not None and isinstance(reading.at, Clock) else None


def _weighed(batch: Assessment, day: BrewDay) -> Remarks:
    """Look for what was weighed after the work that it went into."""
    stock, mash, boil, plan = batch.stock, day.mash, day.boil, batch.record.plan
    later = {str(hop.hop) for hop in plan.fermentation.dry_hops}
    if plan.boil.hop_stand is not None:
        later |= {str(hop.hop) for hop in plan.boil.hop_stand.hops}
    for entry in day.weighed:
        done: When | None
        if entry.item in stock.malts:
            done, said = mash.started if mash else None, "the mash began"
        elif entry.item in stock.hops and entry.item not in later:
            done, said = boil.ended if boil else None, "the boil ended"
        elif entry.item in stock.salts or entry.item in stock.acids:
            done, said = day.pitch.at if day.pitch else None, "the yeast was in"
        else:
            continue
        if entry.at is None or (done is not None and _put_back(batch, entry.at, done)):
            continue
        if _is_after(batch, entry.at, done):
            what = str(entry.item).replace("_", " ")
            yield Remark(
                entry.at.position, f"{what} weighed at {entry.at}, after {said} at {done}",
                f"{done} or earlier",
            )


def _is_after(batch: Assessment, at: When | None, done: When | None) -> bool:
    """Whether a time is after another of the day, by less than half a day.

    What ended past midnight is later than what was weighed in the morning.
    """
    mine, its = moment(batch.record, at), moment(batch.record, done)
    return mine is not None and its is not None and 0 < (mine - its).total_seconds() < HALF_A_DAY


def _readings(batch: Assessment, day: BrewDay) -> Remarks:
    """Go through the readings; each is no earlier than the last beginning known before it."""
    beginnings = [
        ("mash", "the mash began", day.mash.started if day.mash else None),
        ("run_off", "the run-off began", day.run_off.started if day.run_off else None),
        ("boil", "the boil began", day.boil.started if day.boil else None),
        # Wort is in the fermenter only once the boil is over.
        ("pitch", "the boil ended", day.boil.ended if day.boil else None),
    ]
    pitched = day.pitch.at if day.pitch is not None else None
    words = ""
    begun: When | None = None
    for stage, said, at in beginnings:
        if at is not None:
            words, begun = said, at
        for figure in READ:
            if figure.path[:2] != ("brew_day", stage):
                continue
            reading = reading_at(batch.record, figure)
            read_at = reading.at if reading is not None else None
            if stage != "pitch" and _is_after(batch, read_at, pitched):
                message = f"{figure.title}: read at {read_at}, after the yeast at {pitched}"
                where = read_at.position if read_at is not None else None
                yield Remark(where, message, f"{pitched} or earlier")
                continue
            if figure.made_ready or begun is None or isinstance(begun, Moment):
                continue
            if isinstance(read_at, Clock) and _is_back(batch, begun, read_at):
                message = f"{figure.title}: read at {read_at}, before {words} at {begun}"
                yield Remark(read_at.position, message, f"{begun} or later")
