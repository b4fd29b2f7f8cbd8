"""What the clock says, as facts of the day: lengths of mash, boil, stand and cooling,
when hops and sugars went in.

What was not written down keeps its planned length, less well known; those shares are common
practice, no source.
"""

from __future__ import annotations

import datetime

from msgspec.structs import replace

from reportgen.assessment.additions import in_kettle
from reportgen.assessment.day_fact import CaseChange, DayFact
from reportgen.assessment.day_weighed import weighed_matches
from reportgen.assessment.readings import (
    reading_at,
    true_temperature,
)
from reportgen.assessment.times import may_cross_change, moment
from reportgen.forecast.case import (
    Case,
    HopDose,
)
from reportgen.forecast.figures import FIGURES, Stage
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import BoilDay
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock
from reportgen.record.values import Clock, Moment, When
from reportgen.science.bitterness import boiling_equivalent
from reportgen.science.number import nominal, ufloat

NOT_TIMED_U = 5.0
"""±U (k = 2), minutes, of a planned length whose clock was not written."""

TIMED_U = 1.0
"""±U (k = 2), minutes, of a length between two written clocks."""

HOP_IN_U = 2.0
"""±U (k = 2), minutes, of when hops went in by the clock of the sheet, not written down."""


def clock_facts(record: Record, brewery: Brewery, stock: Stock) -> list[DayFact]:
    day = record.brew_day
    if day is None:
        return []
    facts: list[DayFact] = []

    def fact(
        key: str, stage: Stage, title: str, clock: When | None, change: CaseChange
    ) -> None:
        at = moment(record, clock)
        facts.append(DayFact(key, stage, title, None, at, clock is not None, change))

    mash, run_off, boil = day.mash, day.run_off, day.boil
    stood = minutes_between(
        record, mash.started if mash else None, run_off.started if run_off else None,
        planned=sum(rest.time.value for rest in record.plan.mash.rests),
    )  # fmt: skip
    if stood is not None and run_off is not None and record.plan.mash.rests:
        fact("mash time", Stage.RUN_OFF, "Length of the mash", run_off.started, _mashed(stood))
    if boil is None:
        return facts
    boiled = boiled_for(record)
    fact("boil time", Stage.BOIL, "Length of the boil", boil.ended, _boiled(boiled, paused(boil)))
    for match in weighed_matches(record):
        entry = match.entry
        if entry.added_at is None or len(match.shares) != 1:
            continue
        if not in_kettle(entry.added_at, record):
            continue
        place = match.shares[0][0]
        if entry.item in stock.sugars:
            where = kettle_part(entry.added_at, record)
            change = _sugar_in(
                str(entry.item), place, where, minutes_before_end(entry.added_at, record)
            )
            fact(
                f"in at:{entry.item}:{place}", KETTLE_STAGES[where], f"{entry.item} went in",
                entry.added_at, change,
            )  # fmt: skip
            continue
        went_in, ended = moment(record, entry.added_at), heat_off(record)
        if went_in is not None and ended is not None:
            minutes, minutes_u = in_boil(went_in, ended, record)
            fact(
                f"in at:{entry.item}:{place}", Stage.BOIL, f"{entry.item} went in",
                entry.added_at, _hop_boiled(str(entry.item), place, minutes, minutes_u),
            )  # fmt: skip
    stand_ended = boil.hop_stand_ended
    stood_hot = minutes_between(record, boil.ended, stand_ended)
    if stood_hot is not None or boil.hop_stand_temperature is not None:
        reading = boil.hop_stand_temperature
        warm = None if reading is None else true_temperature(record, reading, brewery)
        fact("hop stand", Stage.BOIL, "Hop stand", stand_ended, _hop_stand(stood_hot, warm))
    cooled = minutes_between(record, stand_ended or boil.ended, boil.below_60_at)
    if cooled is not None:
        fact("cooling", Stage.PITCH, "Time to cool below 60 °C", boil.below_60_at, _cooled(cooled))
    return facts


def _mashed(minutes: float) -> CaseChange:
    def change(case: Case) -> Case:
        planned = sum(rest.minutes for rest in case.rests)
        first = case.rests[0]
        # The stand beyond the plan belongs to the first rest where there is but one.
        more = minutes - planned if len(case.rests) == 1 else 0.0
        rests = (replace(first, minutes=max(first.minutes + more, 1.0)), *case.rests[1:])
        return replace(case, rests=rests)

    return change


def _boiled(minutes: float | None, pause: float = 0.0) -> CaseChange:
    """Take the length of the boil by the clock; the planned one, less well known, without.

    The sheet counts from the start of the boil, so what went in by it boiled on with a longer boil.
    Whether it was kept back instead nobody wrote: the difference is how well the minutes are known.
    """
    spread = ufloat(0.0, (NOT_TIMED_U if minutes is None else TIMED_U) / 2, "length of the boil")

    def change(case: Case) -> Case:
        if minutes is None:
            hops = tuple(_by_the_sheet(hop, case, 0.0, NOT_TIMED_U) for hop in case.hops)
            return replace(case, boil_minutes=case.boil_minutes + spread, hops=hops)
        length = minutes + spread
        longer = minutes - nominal(case.boil_minutes)
        known = max(HOP_IN_U, longer)
        hops = tuple(
            _paused(_by_the_sheet(hop, case, longer, known), minutes, pause) for hop in case.hops
        )
        sugars = tuple(
            sugar if sugar.minutes is None
            else replace(sugar, minutes=min(sugar.minutes, minutes))
            for sugar in case.sugars
        )  # fmt: skip
        return replace(case, boil_minutes=length, hops=hops, sugars=sugars)

    return change


def _by_the_sheet(hop: HopDose, case: Case, longer: float, minutes_u: float) -> HopDose:
    """Return a hop of the boil as the clock of the sheet has it, where no time was written."""
    if hop.minutes is None or hop.is_added or hop.is_timed:
        return hop
    if longer < 0:
        # Of a boil cut short it is known before what is to go in at its end.
        whole = float(nominal(case.boil_minutes)) + longer
        return replace(hop, minutes=min(hop.minutes, whole), minutes_u=HOP_IN_U)
    return replace(hop, minutes=hop.minutes + longer, minutes_u=minutes_u)


def _paused(hop: HopDose, boiled: float, pause: float) -> HopDose:
    """Return a hop whose time is not written as a pause leaves it, in which it lay or did not."""
    if not pause or hop.minutes is None or hop.is_added or hop.is_timed:
        return hop
    least, most = (steeped(pause, rate) for rate in reversed(COOLS))
    middle, share = (least + most) / 2, min(hop.minutes / max(boiled, 1.0), 1.0)
    spread = max(hop.minutes_u, (most - least) / 2, middle * (1 - share))
    return replace(
        hop, minutes=round(hop.minutes + middle * share, 1), minutes_u=round(spread, 1)
    )


def _hop_boiled(name: str, slot: int, minutes: float, minutes_u: float) -> CaseChange:
    def change(case: Case) -> Case:
        hops = list(case.hops)
        places = [n for n, hop in enumerate(hops) if hop.name == name and not hop.is_added]
        if slot < len(places):
            place = places[slot]
            hops[place] = replace(
                hops[place], minutes=minutes if minutes > 0 else None, minutes_u=minutes_u,
                is_timed=True,
            )
        return replace(case, hops=tuple(hops))

    return change


def in_boil(
    went_in: datetime.datetime, ended: datetime.datetime, record: Record
) -> tuple[float, float]:
    """Return how long something boiled that went in at a time, min, with ±U (k = 2).

    Less than nought after the boil. A pause may have been before it went in, or after: between the
    two it is not known.
    """
    boil = record.brew_day.boil if record.brew_day is not None else None
    # What lay in the kettle before it boiled boiled as long as the wort.
    began = moment(record, boil.started) if boil is not None else None
    went_in = max(went_in, began) if began is not None and began < ended else went_in
    most = (ended - went_in).total_seconds() / 60
    if boil is None or boil.paused is None or most <= 0:
        return most, 0.0
    # It was not put in while the boil paused: what went in later than that boiled to the end.
    if most < paused(boil):
        return most, 0.0
    least = most - paused(boil) + steeped(paused(boil), COOLS[1])
    whole = boiled_for(record)
    if whole is not None and most > whole:
        # Some of the pause was after it went in.
        most = whole + steeped(most - whole, COOLS[0])
    most = max(most, least)
    return round((least + most) / 2, 1), round((most - least) / 2, 1)


def steeped(minutes: float, rate: float) -> float:
    """Return how long a boil isomerises as much as a pause in which it cools by ``rate``, K/min."""
    step = min(minutes, COOLED / rate) / STEPS
    middles = (100.0 - rate * step * (n + 0.5) for n in range(STEPS))
    return float(sum(nominal(boiling_equivalent(middle, step)) for middle in middles))


def minutes_before_end(at: Clock | Moment | None, record: Record) -> float | None:
    """Return how long before the end of the boil a time is, min, at least 0; None for unknown."""
    mine, ended = moment(record, at), heat_off(record)
    if mine is None or ended is None:
        return None
    return max(0.0, (ended - mine).total_seconds() / 60)


def heat_off(record: Record) -> datetime.datetime | None:
    """Return when the boil ended: as written, else the planned length after it began."""
    boil = record.brew_day.boil if record.brew_day is not None else None
    if boil is None:
        return None
    began = moment(record, boil.started)
    if boil.ended is not None or began is None:
        return moment(record, boil.ended)
    return began + datetime.timedelta(minutes=record.plan.boil.time.value)


def _sugar_in(name: str, slot: int, where: str, minutes: float | None) -> CaseChange:
    """Put a weighed sugar of the kettle where and when its time says."""

    def change(case: Case) -> Case:
        sugars = list(case.sugars)
        places = [
            n for n, s in enumerate(sugars) if s.name == name and not s.is_added
        ]
        if slot < len(places) and sugars[places[slot]].to.startswith("kettle"):
            own = sugars[places[slot]]
            when = own.minutes if minutes is None else minutes
            sugars[places[slot]] = replace(own, to=where, minutes=when)
        return replace(case, sugars=tuple(sugars))

    return change


def _hop_stand(minutes: float | None, warm: float | None) -> CaseChange:
    def change(case: Case) -> Case:
        if case.hop_stand_temperature is None and warm is None:
            return case
        return replace(
            case,
            hop_stand_minutes=case.hop_stand_minutes if minutes is None else minutes,
            hop_stand_temperature=case.hop_stand_temperature if warm is None else warm,
        )

    return change


def _cooled(minutes: float) -> CaseChange:
    return lambda case: replace(case, cooling_minutes=minutes)


def minutes_between(
    record: Record, start: When | None, end: When | None, without: float = 0.0,
    planned: float | None = None,
) -> float | None:
    """Return the minutes from one time to the next; past midnight counts on. None without both.

    None too in a night in which the clocks may change, where only an hour more or less fits what
    was ``planned``: nobody knows by which clock it was written.

    ``without`` are minutes of them that do not count. None too where a time without its day stands
    before the one by less than six hours: a slip, which a check tells, and no length of anything.
    """
    minutes = _by_the_clock(record, start, end)
    if minutes is not None and planned is not None and may_cross_change(record, start, end):
        off = [abs((minutes + by) % (24 * 60) - without - planned) for by in (0, 60, -60)]
        minutes = None if min(off) <= FITS < off[0] else minutes
    if minutes is None or minutes < 0 or minutes - without > LONGEST:
        return None
    return max(minutes - without, 0.0)


def _by_the_clock(record: Record, start: When | None, end: When | None) -> float | None:
    if start is None or end is None:
        return None
    if not (isinstance(start, Moment) or isinstance(end, Moment)):
        return float((end.minutes - start.minutes) % (24 * 60))
    first, last = moment(record, start), moment(record, end)
    if first is None or last is None:
        return None
    return (last - first).total_seconds() // 60


def is_over_long(record: Record, start: When | None, end: When | None, without: float) -> bool:
    """Whether days are written with which something took longer than anything does."""
    minutes = _by_the_clock(record, start, end)
    dated = isinstance(start, Moment) or isinstance(end, Moment)
    return dated and minutes is not None and minutes - without > LONGEST


def boiled_for(record: Record) -> float | None:
    """Return the minutes that it boiled by the clock, without its pauses; None for not known."""
    boil = record.brew_day.boil if record.brew_day is not None else None
    planned = record.plan.boil.time.value
    return None if boil is None else minutes_between(
        record, boil.started, boil.ended, paused(boil), planned
    )


def paused(boil: BoilDay) -> float:
    """Return the minutes that it did not boil between its beginning and its end."""
    return boil.paused.value if boil.paused is not None else 0.0


COOLS = 0.2, 1.0
"""K a minute by which wort cools while the boil pauses: a full kettle with its lid on, a small open
one. Common practice, no source."""
COOLED, STEPS = 40.0, 8
"""K of cooling after which nothing isomerises to speak of, and the steps that are reckoned."""

FITS = 15.0
"""Minutes by which a length may be off the plan that fits it with an hour more or less."""

LONGEST = 18 * 60
"""Minutes that a mash, a boil or a cooling lasts at most; wort left to cool overnight is in it."""

KETTLE_STAGES = {"kettle_full": Stage.RUN_OFF, "kettle": Stage.BOIL, "cast_out": Stage.PITCH}
"""The kettle before its volume was read, in the boil, and after cast-out was read, with the stage
at which each counts."""


def kettle_part(at: Clock | Moment | None, record: Record) -> str:
    """Return which of the readings of the kettle show what went in or out of it at a time.

    Where no time is written beside a reading, the kettle was read when the boil began or ended.
    Without a time of its own it was during the boil.
    """
    day = record.brew_day
    mine = moment(record, at)
    boil = day.boil if day is not None else None
    begin = _read_at("kettle_volume", boil.started if boil is not None else None, record)
    end = _read_at("cast_out_volume", boil.ended if boil is not None else None, record)
    if mine is not None and begin is not None and mine < begin:
        return "kettle_full"
    return "cast_out" if mine is not None and end is not None and mine > end else "kettle"


def _read_at(key: str, otherwise: When | None, record: Record) -> datetime.datetime | None:
    read = reading_at(record, FIGURES[key])
    own = moment(record, read.at) if read is not None else None
    return own or moment(record, otherwise)
