"""What was added and taken out without the plan, as facts of the day: where and when it counts."""

from __future__ import annotations

import datetime
import math
from collections import Counter
from typing import Any

from msgspec.structs import replace

from reportgen.assessment.additions import entries_of, in_time
from reportgen.assessment.day_clocks import (
    KETTLE_STAGES,
    heat_off,
    in_boil,
    kettle_part,
    minutes_before_end,
    paused,
)
from reportgen.assessment.day_fact import CaseChange, DayFact
from reportgen.assessment.day_weighed import scale_uncertainty, true_amount, used_on
from reportgen.assessment.fillings import filled_with
from reportgen.assessment.readings import (
    reading_at,
)
from reportgen.assessment.times import moment
from reportgen.forecast.case import (
    AcidDose,
    Case,
    LiquorAdded,
    SaltDose,
    Withdrawal,
)
from reportgen.forecast.figures import FIGURES, Stage
from reportgen.forecast.materials import hop_of, malt_of, sugar_of
from reportgen.forecast.resolve import attenuation_of
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Added
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock, Yeast
from reportgen.record.units import Quantity
from reportgen.record.values import When
from reportgen.science.acid import acid_density
from reportgen.science.number import Number, nominal, ufloat

LIQUOR_TEMPERATURE = 20.0
"""degC of liquor added without its temperature."""

_PLACES = {
    "mash": Stage.MASH, "sparge": Stage.RUN_OFF, "kettle": Stage.BOIL,
    "fermenter": Stage.FERMENT, "container": Stage.PACK,
}  # fmt: skip


def addition_facts(record: Record, brewery: Brewery, stock: Stock) -> list[DayFact]:
    facts, possible, later = [], _possible(record), Counter[str]()
    filled, of_day = filled_with(record, brewery), record.brew_day.added if record.brew_day else ()
    for number, entry in enumerate(record.all_added):
        change = None
        if id(entry) in possible:
            change = _adding(entry, record, brewery, stock, filled.get(id(entry)))
        if change is not None:
            change = _if_it_fits(change, str(entry.to), entry.amount.value)
            name = str(entry.what)
            later[name] += all(entry is not own for own in of_day)
            if 0 < later[name] <= record.put_in_later(name):
                change = _in_its_place(change, name)
        facts.append(
            DayFact(
                f"added:{number}",
                addition_stage(entry, record),
                f"{str(entry.what).replace('_', ' ')} added to the {entry.to}",
                entry.amount.value,
                moment(record, entry.at or entry.amount.at),
                entry.at is not None,
                change,
            )
        )
    return facts


def _in_its_place(change: CaseChange, name: str) -> CaseChange:
    """Return a change that takes the place of sugar planned for the fermenter and not weighed."""

    def without(case: Case) -> Case:
        planned = next(
            (s for s in case.sugars if s.name == name and s.to == "fermenter" and not s.is_weighed),
            None,
        )
        return change(replace(case, sugars=tuple(s for s in case.sugars if s is not planned)))

    return without


def _possible(record: Record) -> frozenset[int]:
    """Return the ids of the entries whose place held something at their time.

    Another is a slip of its time or place, which a check tells. It moves no number: what really
    happened is not known until it is corrected.
    """
    return frozenset(id(e.entry) for e in entries_of(record) if in_time(e, record))


def _if_it_fits(change: CaseChange, place: str, amount: Quantity | None) -> CaseChange:
    """Return a change that leaves the case alone where the vessel could not hold the amount."""
    return lambda case: (
        case if amount is not None and amount.value > case.brim_of(place) else change(case)
    )


def addition_stage(entry: Added, record: Record) -> Stage:
    """Return the stage at which an addition counts: by its place, in the kettle by its time."""
    place = str(entry.to)
    return KETTLE_STAGES[kettle_part(entry.at, record)] if place == "kettle" else _PLACES[place]


def _adding(
    entry: Added, record: Record, brewery: Brewery, stock: Stock, filling: int | None
) -> CaseChange | None:
    """Return how an addition changes the case; None for one that moves no number.

    ``filling`` is the number of the containers that it went into, where there are several kinds.
    """
    name, to = str(entry.what), str(entry.to)
    reading = entry.amount
    true = true_amount(record, brewery, reading)
    if reading.value is None or true is None:
        return None
    amount = ufloat(true, scale_uncertainty(record, brewery, reading) / 2, f"{name} added")
    where = kettle_part(entry.at, record) if to == "kettle" else to
    if to == "fermenter" and after_final_gravity(entry, record):
        # The final gravity does not show it: it is in what is packed, as if it went in there.
        where = "container"
    lot = str(entry.lot) if entry.lot is not None else None
    read, order = reading.value, _order(entry.at, record)
    if name in brewery.liquors and read.is_volume:
        warm = entry.temperature.value if entry.temperature is not None else LIQUOR_TEMPERATURE
        added = LiquorAdded(
            name, where, amount, warm, after_reading(entry, record), filling, order
        )
        return _with_more("liquor_added", added)
    if name in stock.malts and to == "mash" and read.is_mass:
        malt = replace(malt_of(name, amount, lot, stock), is_weighed=True, is_added=True)
        return _with_more("malts", malt)
    if name in stock.sugars and to in ("kettle", "fermenter", "container") and read.is_mass:
        before = minutes_before_end(entry.at, record) if where == "kettle" else None
        sugar = replace(
            sugar_of(name, amount, where, stock, before), is_weighed=True, is_added=True,
            filling=filling, order=order,
        )  # fmt: skip
        return _with_more("sugars", sugar)
    if name in stock.yeasts and where == "fermenter":
        return _with_yeast(stock.yeasts[name])
    if name in stock.hops and to == "kettle" and read.is_mass:
        return _adding_hop(entry, name, 1000 * amount, lot, record, stock)
    if name in stock.salts and to in ("mash", "sparge", "kettle") and read.is_mass:
        salt = stock.salts[name]
        dose = SaltDose(
            name, salt.is_, 1000 * amount, salt.purity, to, is_weighed=True, is_added=True
        )
        return _with_more("salts", dose)
    if name in stock.acids and to in ("mash", "sparge", "kettle"):
        acid = stock.acids[name]
        litres = amount
        if read.is_mass:
            litres = amount / acid_density(acid.is_, acid.strength.value)
        poured = AcidDose(
            name, acid.is_, 1000 * litres, acid.strength.value, to, is_weighed=True, is_added=True
        )
        return _with_more("acids", poured)
    return None


def _with_yeast(yeast: Yeast) -> CaseChange:
    """Return the change by a second yeast: the beer gets as dry as the one that ferments most."""
    own = attenuation_of(yeast)
    return lambda case: (
        replace(case, attenuation=own) if nominal(own) > nominal(case.attenuation) else case
    )


def _adding_hop(
    entry: Added,
    name: str,
    grams: Number,
    lot: str | None,
    record: Record,
    stock: Stock,
) -> CaseChange:
    ended = heat_off(record)
    mine = moment(record, entry.at)
    alpha = hop_of(name, grams, 0.0, lot, stock, used_on(record))
    boil = record.brew_day.boil if record.brew_day is not None else None
    pause = paused(boil) if boil is not None else 0.0

    def change(case: Case) -> Case:
        whole = float(nominal(case.boil_minutes))
        # At what time of the boil nobody wrote: at any.
        minutes: float | None = whole / 2
        minutes_u = whole / 2
        if mine is not None and ended is not None:
            boiled, minutes_u = in_boil(mine, ended, record)
            minutes = min(boiled, whole + pause) if boiled >= 0 else None
        if minutes is None and case.hop_stand_temperature is None:
            minutes = 0.0
        hop = replace(
            alpha, minutes=minutes, minutes_u=minutes_u, is_weighed=True, is_added=True
        )
        return replace(case, hops=(*case.hops, hop))

    return change


def _order(at: When | None, record: Record, otherwise: float = 0.0) -> float:
    """Return where a time stands among others; without one, what went in came first."""
    when = moment(record, at)
    return otherwise if when is None else (when - _EPOCH).total_seconds()


_EPOCH = datetime.datetime(1970, 1, 1)


def after_reading(entry: Added, record: Record) -> bool:
    """Whether liquor went into a vessel after its gravity there was read.

    The reading that it could be in is the original gravity for the fermenter, the pH for the mash.
    By their times; without one the reading came first, since it is what calls for a remedy.
    """
    key = {"fermenter": "original_gravity", "mash": "mash_temperature"}.get(str(entry.to))
    if key is None:
        return True
    read = reading_at(record, FIGURES[key])
    mine, its = moment(record, entry.at), moment(record, read.at) if read is not None else None
    return mine is None or its is None or mine >= its


def after_final_gravity(entry: Added, record: Record) -> bool:
    """Whether something went into the fermenter after the final gravity was read there.

    By their times; the end of the day on which it was finished, where the reading has none.
    """
    read = reading_at(record, FIGURES["final_gravity"])
    mine = moment(record, entry.at)
    if read is None or read.value is None or mine is None:
        return False
    its = moment(record, read.at)
    if its is None:
        finished = record.fermentation.finished if record.fermentation is not None else None
        if finished is None:
            return False
        its = datetime.datetime.combine(finished.date, datetime.time(23, 59))
    return mine > its


def withdrawal_facts(record: Record) -> list[DayFact]:
    facts, possible = [], _possible(record)
    for number, entry in enumerate(record.all_taken):
        value = entry.amount.value
        if value is None or not value.is_volume or id(entry) not in possible:
            continue
        where = str(entry.from_)
        stage = _PLACES[where]
        if where == "kettle":
            where = kettle_part(entry.at, record)
            stage = KETTLE_STAGES[where]
        litres = ufloat(value.value, value.step / 2, "taken out")
        out = Withdrawal(where, litres, _order(entry.at, record, otherwise=math.inf))
        facts.append(
            DayFact(
                f"taken:{number}", stage, f"{entry.what or 'wort'} taken from the {entry.from_}",
                value, moment(record, entry.at), entry.at is not None,
                _if_it_fits(_with_more("withdrawals", out), str(entry.from_), value),
            )
        )  # fmt: skip
    return facts


def _with_more(table: str, item: Any) -> CaseChange:
    """Return the change that puts an item at the end of one of the lists of a case."""
    def change(case: Case) -> Case:
        longer: dict[str, Any] = {table: (*getattr(case, table), item)}
        return replace(case, **longer)

    return change
