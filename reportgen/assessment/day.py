"""The brew day as it was: what was weighed, added, taken out and timed, as one row of facts.

Each fact is a change of the case (an amount, a lot, a length of the boil, something added) or a
reading. The plan's case with all facts in it is the batch as brewed; with the first k of them it is
what was known then. The same stages walk all of these, so there is one forecast and never a second
formula for what is actual.

What was not written down keeps its planned value, less well known; those shares are common
practice, no source.
"""

from __future__ import annotations

import datetime
import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from reportgen.assessment.additions import entries_of, in_kettle, in_time
from reportgen.assessment.fillings import filled_with
from reportgen.assessment.instruments import weighs_high_by
from reportgen.assessment.readings import (
    fitting,
    house_instrument,
    instrument_uncertainty,
    reading_at,
    true_temperature,
)
from reportgen.assessment.times import moment
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import (
    AcidDose,
    Case,
    HopDose,
    LiquorAdded,
    MaltDose,
    SaltDose,
    SugarDose,
    Withdrawal,
)
from reportgen.forecast.figures import FIGURES, Figure, Stage
from reportgen.forecast.materials import hop_of, malt_of, sugar_of
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Added, BoilDay, Weighed
from reportgen.record.model.brewery import Brewery, Instrument
from reportgen.record.model.plan import Plan
from reportgen.record.model.stock import Stock
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Moment, Reading, State, When
from reportgen.science.acid import acid_density
from reportgen.science.number import Number, nominal, ufloat

NOT_WEIGHED_U = 0.03
"""±U (k = 2), as a share, of what was planned and not written as weighed."""
NOT_TIMED_U = 5.0
"""±U (k = 2), minutes, of a planned length whose clock was not written."""
TIMED_U = 1.0
"""±U (k = 2), minutes, of a length between two written clocks."""
HOP_IN_U = 2.0
"""±U (k = 2), minutes, of when hops went in by the clock of the sheet, not written down."""
LIQUOR_TEMPERATURE = 20.0
"""degC of liquor added without its temperature."""

CaseChange = Callable[[Case], Case]


class Moved(Struct, frozen=True):
    """What one fact did to one outcome, in the base unit of its kind, with ±U (k = 2).

    ``before`` and ``after`` are the forecasts of the finished beer around it.
    """

    key: str
    before: float
    after: float
    uncertainty: float

    @property
    def size(self) -> float:
        """After minus before."""
        return self.after - self.before

    @property
    def is_clear(self) -> bool:
        """Whether it is larger than its U."""
        return abs(self.size) > self.uncertainty


class DayFact(Struct, frozen=True):
    """One thing that was done or read.

    ``at`` is its own time, None where none was written. ``change`` moves the case, ``figure`` is
    the key of the one that was read; one of the two is there. ``amount`` is what was written of
    what was done. ``moved`` has what it did to the finished beer, by outcome; only a replay knows.
    """

    key: str
    stage: Stage
    title: str
    amount: Quantity | None
    at: datetime.datetime | None
    is_timed: bool
    change: CaseChange | None = None
    figure: str = ""
    moved: Mapping[str, Moved] = field(default_factory=dict)


def as_brewed(case: Case, facts: Iterable[DayFact]) -> Case:
    """Return the case with every fact in it that changes it."""
    for fact in facts:
        if fact.change is not None:
            case = fact.change(case)
    return case


def as_it_would_have_been(case: Case, planned: Forecast) -> Case:
    """Return the plan's case with what the forecast chose in it fixed: the sparge liquor.

    On the day the sparge is the one of the sheet; it does not follow what happens in the boil.
    """
    if case.sparge_liquor is not None or "sparge_liquor" not in planned:
        return case
    return replace(case, sparge_liquor=planned.expected["sparge_liquor"].number)


_PLACES = {
    "mash": Stage.MASH, "sparge": Stage.RUN_OFF, "kettle": Stage.BOIL,
    "fermenter": Stage.FERMENT, "container": Stage.PACK,
}  # fmt: skip


def changes_of(record: Record, brewery: Brewery, stock: Stock) -> tuple[DayFact, ...]:
    """Return the facts of a record that change its case, in the order of time."""
    found = [
        *_hops_aged(record, stock),
        *_weighed(record, brewery, stock),
        *_clocks(record, brewery, stock),
        *_additions(record, brewery, stock),
        *_withdrawals(record),
    ]
    return _in_order(found)


def with_readings(
    changes: Iterable[DayFact], record: Record, read: Iterable[str]
) -> tuple[DayFact, ...]:
    """Return every fact of a record in the order of time.

    ``read`` are the keys of the figures with a reading. A fact without a time takes its place in
    the order of the sheet.
    """
    return _in_order([*changes, *_readings(record, read)])


def _in_order(facts: Iterable[DayFact]) -> tuple[DayFact, ...]:
    """Sort by stage, then let a written time decide; what has none stays behind its neighbour."""
    order = list(Stage)
    by_sheet = sorted(facts, key=lambda f: order.index(f.stage))
    never = datetime.datetime.min
    placed, last = [], never
    for fact in by_sheet:
        last = max(last, fact.at or never)
        placed.append((fact.at or last, fact if fact.is_timed else replace(fact, at=None)))
    return tuple(fact for _, fact in sorted(placed, key=lambda pair: pair[0]))


def used_on(record: Record) -> datetime.date | None:
    """Return the day that hops are used: the brew day, else the one planned; None for unknown."""
    if record.brewed_on is not None:
        return record.brewed_on
    return record.plan.brew_on.date if record.plan.brew_on is not None else None


def _hops_aged(record: Record, stock: Stock) -> list[DayFact]:
    """Return the fact that hops were used on another day than they were planned for, if it moves
    their alpha acids."""
    planned, day = record.plan.brew_on, used_on(record)
    if record.brew_day is None or (planned is not None and planned.date == day):
        return []
    stored = {
        (str(hop.hop), str(hop.lot))
        for hop in record.plan.all_hops
        if hop.lot is not None
        and (lot := stock.hops[hop.hop].lots.get(hop.lot)) is not None
        and lot.stored_at is not None
        and lot.analysed is not None
    }
    if not stored:
        return []

    def aged(hop: HopDose) -> HopDose:
        if (hop.name, hop.lot) not in stored:
            return hop
        return replace(hop, alpha=hop_of(hop.name, 1.0, None, hop.lot, stock, day).alpha)

    def change(case: Case) -> Case:
        return replace(case, hops=tuple(aged(hop) for hop in case.hops))

    return [
        DayFact("hops aged", Stage.LIQUOR, "Age of the hops on the day", None, None, False, change)
    ]


# What was weighed


def scale_of(record: Record, brewery: Brewery, reading: Reading) -> Instrument | None:
    """Return the scale, or what else was named, that an amount was read with; None for unknown."""
    amount = reading.value
    if amount is None:
        return None
    name = str(reading.instrument or "")
    if not name and amount.is_mass:
        day = record.brew_day
        for chosen in (day.instruments if day else None, record.plan.instruments):
            if not name and chosen is not None and chosen.scale is not None:
                name = str(chosen.scale)
        name = name or house_instrument(brewery, "scale", amount.value)
    return fitting(brewery, name, amount.kind, amount.unit)


def scale_uncertainty(record: Record, brewery: Brewery, reading: Reading) -> float:
    """Return ±U (k = 2) of what was weighed, kg, or of what was measured in a cylinder, L."""
    return instrument_uncertainty(scale_of(record, brewery, reading), reading.value)


def true_amount(record: Record, brewery: Brewery, reading: Reading) -> float | None:
    """Return what was weighed, kg, or measured, L, less what was shown too much; None if blank."""
    amount = reading.value
    if amount is None:
        return None
    scale = scale_of(record, brewery, reading)
    return amount.value - weighs_high_by(scale, amount.kind, amount.value)


def _weighed_for(name: str, stock: Stock) -> Stage:
    """Return the stage that an item is weighed for."""
    if name in stock.malts:
        return Stage.MASH
    return Stage.BOIL if name in stock.hops or name in stock.sugars else Stage.LIQUOR


_TABLES = ("malts", "sugars", "hops", "salts", "acids")
"""The parts of a case that are lists of weighed things."""


def _amount_of(entry: Any) -> tuple[str, float]:
    """Return the field of a case's item that is its amount, and how many of it are 1 kg or 1 L."""
    if isinstance(entry, HopDose | SaltDose):
        return "grams", 1000.0
    if isinstance(entry, AcidDose):
        return "millilitres", 1000.0
    return "amount", 1.0


def _weighed(record: Record, brewery: Brewery, stock: Stock) -> list[DayFact]:
    day = record.brew_day
    if day is None or not (day.weighed or day.run_off or day.boil or day.pitch):
        # A day that has only begun may still be written down.
        return []
    counted: dict[str, int] = {}
    found = []
    for match in weighed_matches(record):
        entry = match.entry
        name = str(entry.item)
        number = counted.get(name, 0)
        counted[name] = number + 1
        found.append(
            DayFact(
                f"weighed:{name}:{number}",
                _weighed_for(name, stock),
                f"{name.replace('_', ' ')} weighed",
                entry.amount.value,
                moment(record, entry.at or entry.amount.at),
                entry.at is not None,
                _weighing(match, record, brewery, stock) if match.shares else None,
            )
        )
    found.append(
        DayFact(
            "not weighed", Stage.BOIL, "Not written as weighed", None, None, False, _less_known()
        )
    )
    return found


def not_written(record: Record, brewed: Case) -> tuple[str, ...]:
    """Say what of the brew day nobody wrote, so that it is as planned, and how sure that is."""
    day = record.brew_day
    if day is None or not (day.weighed or day.run_off or day.boil or day.pitch):
        return ()
    names = dict.fromkeys(
        item.title if isinstance(item, MaltDose | SugarDose | HopDose) else item.name
        for table in _TABLES for item in getattr(brewed, table)
        if not item.is_weighed and nominal(getattr(item, _amount_of(item)[0]))
    )
    share = f"±{NOT_WEIGHED_U:.0%}".replace("%", " %")
    said = [f"{str(name).replace('_', ' ')} {share}" for name in names]
    boil = day.boil
    if boil is not None and boiled_for(boil) is None:
        said.append(f"length of the boil ±{NOT_TIMED_U:.0f} min")
    return tuple(said)


def planned_amounts(plan: Plan) -> dict[str, list[tuple[float, bool]]]:
    """Return the planned additions of each item, in order: kg or L, and whether on the brew day.

    What goes into the fermenter later comes last.
    """
    found: dict[str, list[tuple[float, bool]]] = {}
    for item, amount, on_the_day in [
        *((g.malt, g.amount, True) for g in plan.grist),
        *((s.sugar, s.amount, True) for s in plan.sugars),
        *((h.hop, h.amount, True) for h in (*plan.boil.hops, *plan.steeped_hops)),
        *((s.salt, s.amount, True) for s in plan.liquor.salts),
        *((a.acid, a.amount, True) for a in plan.liquor.acids),
        *((h.hop, h.amount, False) for h in plan.fermentation.dry_hops),
    ]:
        found.setdefault(str(item), []).append((amount.value, on_the_day))
    return found


class Match(Struct, frozen=True):
    """A weighed entry and the planned additions of its item that it stands for.

    ``shares`` has the place of each addition and its share of what was weighed; empty for one of a
    later day. ``adds`` says that an entry before was the first part of the same addition.
    """

    entry: Weighed
    shares: tuple[tuple[int, float], ...]
    adds: bool


def weighed_matches(record: Record) -> list[Match]:
    """Return what each weighed entry stands for.

    The order of the entries is kept. Several additions may have been weighed at once, or one in
    parts: the way that lies nearest to the plan is taken.
    """
    planned = planned_amounts(record.plan)
    by_item: dict[str, list[Weighed]] = {}
    for entry in record.all_weighed:
        by_item.setdefault(str(entry.item), []).append(entry)
    found: dict[int, Match] = {}
    for name, entries in by_item.items():
        slots = planned.get(name, [(1.0, True)])
        amounts = [e.amount.value.value if e.amount.value is not None else 0.0 for e in entries]
        chosen = matched(amounts, [amount for amount, _ in slots])
        for n, (entry, places) in enumerate(zip(entries, chosen, strict=True)):
            whole = sum(slots[place][0] for place in places) or 1.0
            shares = tuple((p, slots[p][0] / whole) for p in places if slots[p][1])
            found[id(entry)] = Match(entry, shares, places in chosen[:n])
    return [found[id(entry)] for entry in record.all_weighed]


def matched(amounts: Sequence[float], slots: Sequence[float]) -> tuple[tuple[int, ...], ...]:
    """Return the places that each amount stands for among planned ones, in order, by nearest fit.

    With more amounts than places, neighbours share one.
    """
    n, m = len(amounts), len(slots)
    ways: Iterable[tuple[tuple[int, ...], ...]]
    if n <= m:
        # Each amount takes a run of neighbours; places between may be left out.
        ways = (
            tuple(tuple(range(cuts[2 * k] - k, cuts[2 * k + 1] - k)) for k in range(n))
            for cuts in itertools.combinations(range(m + n), 2 * n)
        )
    else:
        ways = (
            tuple((sum(cut <= k for cut in cuts),) for k in range(n))
            for cuts in itertools.combinations(range(1, n), m - 1)
        )
    return min(itertools.islice(ways, MOST_WAYS), key=lambda way: _misfit(amounts, slots, way))


MOST_WAYS = 2000
"""Ways to match weights with additions that are tried; a brew has a handful."""


def _misfit(
    amounts: Sequence[float], slots: Sequence[float], way: Sequence[tuple[int, ...]]
) -> tuple[float, int]:
    """Return how far a way is from the plan; of two as near, the one that leaves out fewer."""
    sums: dict[tuple[int, ...], float] = {}
    for amount, places in zip(amounts, way, strict=True):
        sums[places] = sums.get(places, 0.0) + amount
    far = 0.0
    for places, total in sums.items():
        planned = sum(slots[place] for place in places)
        far += abs(math.log(total / planned)) if total > 0 and planned > 0 else 0.0
    return round(far, 9), -sum(len(places) for places in sums)


def _less_known() -> CaseChange:
    """What nobody wrote as weighed is as planned, less well known."""
    spreads: dict[str, Number] = {}

    def vaguer(item: Any) -> Any:
        field, _ = _amount_of(item)
        if item.is_weighed or not nominal(getattr(item, field)):
            return item
        # One variable an item, made once, so that two walks over the same facts share it.
        spread = spreads.setdefault(
            item.name, ufloat(1.0, NOT_WEIGHED_U / 2, f"{item.name} not weighed")
        )
        return replace(item, **{field: getattr(item, field) * spread})

    def change(case: Case) -> Case:
        new: dict[str, Any] = {
            table: tuple(vaguer(item) for item in getattr(case, table)) for table in _TABLES
        }
        return replace(case, **new)

    return change


def _weighing(match: Match, record: Record, brewery: Brewery, stock: Stock) -> CaseChange:
    """Put what was weighed in place of what was planned, or add it to the part before.

    An item that the plan does not have is counted where there is but one place for it: malt in
    the mash.
    """
    entry = match.entry
    name = str(entry.item)
    lot = str(entry.lot) if entry.lot is not None else None
    amount = _weighed_amount(entry, record, brewery)
    own = _own_figures(name, lot, stock, used_on(record))

    def change(case: Case) -> Case:
        if amount is None:
            return case
        for table in _TABLES:
            items = list(getattr(case, table))
            places = [n for n, item in enumerate(items) if item.name == name and not item.is_added]
            if not places:
                continue
            for number, share in match.shares:
                place = places[min(number, len(places) - 1)]
                field, units = _amount_of(items[place])
                item, value = items[place], entry.amount.value
                if value is not None and value.kind != _kind_of(item):
                    if not isinstance(item, AcidDose):
                        return case
                    # An acid on the scale: by its density it is so many millilitres.
                    of_item = units * share * amount / acid_density(item.acid, item.strength)
                else:
                    of_item = units * share * amount
                new = own if lot is not None and lot != getattr(item, "lot", lot) else {}
                total = of_item
                if match.adds:
                    before = getattr(item, field)
                    total = before + of_item
                    new = {
                        key: f"{item.lot}, {lot}" if key == "lot"
                        else (before * getattr(item, key) + of_item * figure) / total
                        for key, figure in new.items()
                    } if nominal(total) else {}
                items[place] = replace(item, **{**new, field: total, "is_weighed": True})
            changed: dict[str, Any] = {table: tuple(items)}
            return replace(case, **changed)
        if name in stock.malts and entry.amount.value and entry.amount.value.is_mass:
            malt = replace(malt_of(name, amount, lot, stock), **own, is_weighed=True)
            return replace(case, malts=(*case.malts, malt))
        return case

    return change


def _weighed_amount(entry: Weighed, record: Record, brewery: Brewery) -> Number | None:
    """Return an amount in kg or L; 0 for what was left out, None where nothing was written."""
    if entry.amount.state is State.NOT_DONE:
        return 0.0
    true = true_amount(record, brewery, entry.amount)
    if true is None:
        return None
    spread = scale_uncertainty(record, brewery, entry.amount)
    return ufloat(true, spread / 2, f"weight of {entry.item}")


def _kind_of(item: Any) -> str:
    return "volume" if isinstance(item, AcidDose) else "mass"


def _own_figures(
    name: str, lot: str | None, stock: Stock, on: datetime.date | None
) -> dict[str, Any]:
    """Return the figures of the lot that was used, by the field of the case's item."""
    if name in stock.malts:
        malt = malt_of(name, 1.0, lot, stock)
        return {
            "extract": malt.extract, "moisture": malt.moisture, "colour": malt.colour,
            "lot": malt.lot,
        }  # fmt: skip
    if name in stock.hops:
        hop = hop_of(name, 1.0, None, lot, stock, on)
        return {"alpha": hop.alpha, "lot": hop.lot}
    return {}


# The clock


def _clocks(record: Record, brewery: Brewery, stock: Stock) -> list[DayFact]:
    day = record.brew_day
    if day is None:
        return []
    found: list[DayFact] = []

    def fact(
        key: str, stage: Stage, title: str, clock: When | None, change: CaseChange
    ) -> None:
        at = moment(record, clock)
        found.append(DayFact(key, stage, title, None, at, clock is not None, change))

    mash, run_off, boil = day.mash, day.run_off, day.boil
    stood = minutes_between(mash.started if mash else None, run_off.started if run_off else None)
    if stood is not None and run_off is not None and record.plan.mash.rests:
        fact("mash time", Stage.RUN_OFF, "Length of the mash", run_off.started, _mashed(stood))
    if boil is None:
        return found
    boiled = boiled_for(boil)
    fact("boil time", Stage.BOIL, "Length of the boil", boil.ended, _boiled(boiled))
    for match in weighed_matches(record):
        entry = match.entry
        if entry.added_at is None or len(match.shares) != 1:
            continue
        if not in_kettle(entry.added_at, record):
            continue
        place = match.shares[0][0]
        if entry.item in stock.sugars:
            where = _in_kettle(entry.added_at, record)
            change = _sugar_in(
                str(entry.item), place, where, _before_end(entry.added_at, record)
            )
            fact(
                f"in at:{entry.item}:{place}", _KETTLE[where], f"{entry.item} went in",
                entry.added_at, change,
            )  # fmt: skip
            continue
        went_in, ended = moment(record, entry.added_at), _heat_off(record)
        if went_in is not None and ended is not None:
            # What lay in the kettle before it boiled boiled as long as the wort.
            began = moment(record, boil.started)
            went_in = max(went_in, began) if began is not None and began < ended else went_in
            minutes, minutes_u = _in_boil(went_in, ended, boil)
            fact(
                f"in at:{entry.item}:{place}", Stage.BOIL, f"{entry.item} went in",
                entry.added_at, _hop_boiled(str(entry.item), place, minutes, minutes_u),
            )  # fmt: skip
    stand_ended = boil.hop_stand_ended
    stood_hot = minutes_between(boil.ended, stand_ended)
    if stood_hot is not None or boil.hop_stand_temperature is not None:
        reading = boil.hop_stand_temperature
        warm = None if reading is None else true_temperature(record, reading, brewery)
        fact("hop stand", Stage.BOIL, "Hop stand", stand_ended, _hop_stand(stood_hot, warm))
    cooled = minutes_between(stand_ended or boil.ended, boil.below_60_at)
    if cooled is not None:
        fact("cooling", Stage.PITCH, "Time to cool below 60 °C", boil.below_60_at, _cooled(cooled))
    return found


def _mashed(minutes: float) -> CaseChange:
    def change(case: Case) -> Case:
        planned = sum(rest.minutes for rest in case.rests)
        first = case.rests[0]
        # The stand beyond the plan belongs to the first rest where there is but one.
        more = minutes - planned if len(case.rests) == 1 else 0.0
        rests = (replace(first, minutes=max(first.minutes + more, 1.0)), *case.rests[1:])
        return replace(case, rests=rests)

    return change


def _boiled(minutes: float | None) -> CaseChange:
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
        hops = tuple(_by_the_sheet(hop, case, longer, known) for hop in case.hops)
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


def _in_boil(
    went_in: datetime.datetime, ended: datetime.datetime, boil: BoilDay | None
) -> tuple[float, float]:
    """Return how long something boiled that went in at a time, min, with ±U (k = 2).

    Less than nought after the boil. A pause may have been before it went in, or after: between the
    two it is not known.
    """
    most = (ended - went_in).total_seconds() / 60
    if boil is None or boil.paused is None or most <= 0:
        return most, 0.0
    paused = boil.paused.value
    # It was not put in while the boil paused: what went in later than that boiled to the end.
    least = most - paused if most >= paused else most
    most = min(most, max(boiled_for(boil) or most, least))
    return (least + most) / 2, (most - least) / 2


def _before_end(at: Clock | Moment | None, record: Record) -> float | None:
    """Return how long before the end of the boil a time is, min, at least 0; None for unknown."""
    mine, ended = moment(record, at), _heat_off(record)
    if mine is None or ended is None:
        return None
    return max(0.0, (ended - mine).total_seconds() / 60)


def _heat_off(record: Record) -> datetime.datetime | None:
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


def minutes_between(start: When | None, end: When | None) -> float | None:
    """Return the minutes from one time to the next; past midnight counts on. None without both.

    None too where the next stands before the one by less than six hours: a slip, which a check
    tells, and no length of anything.
    """
    if start is None or end is None:
        return None
    if isinstance(start, Moment) and isinstance(end, Moment):
        minutes = int((end.at - start.at).total_seconds()) // 60
    else:
        minutes = (end.minutes - start.minutes) % (24 * 60)
    return float(minutes) if 0 <= minutes <= LONGEST else None


def boiled_for(boil: BoilDay) -> float | None:
    """Return the minutes that it boiled by the clock, without its pauses; None for not known."""
    minutes = minutes_between(boil.started, boil.ended)
    if minutes is None or boil.paused is None:
        return minutes
    return max(minutes - boil.paused.value, 0.0)


LONGEST = 18 * 60
"""Minutes that a mash, a boil or a cooling lasts at most; wort left to cool overnight is in it."""


# What was added and taken out


def _additions(record: Record, brewery: Brewery, stock: Stock) -> list[DayFact]:
    found, possible = [], _possible(record)
    filled = filled_with(record, brewery)
    for number, entry in enumerate(record.all_added):
        change = None
        if id(entry) in possible:
            change = _adding(entry, record, brewery, stock, filled.get(id(entry)))
        if change is not None:
            change = _if_it_fits(change, str(entry.to), entry.amount.value)
        found.append(
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
    return found


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
    return _KETTLE[_in_kettle(entry.at, record)] if place == "kettle" else _PLACES[place]


_KETTLE = {"kettle_full": Stage.RUN_OFF, "kettle": Stage.BOIL, "cast_out": Stage.PITCH}
"""The kettle before its volume was read, in the boil, and after cast-out was read, with the stage
at which each counts."""


def _in_kettle(at: Clock | Moment | None, record: Record) -> str:
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
    where = _in_kettle(entry.at, record) if to == "kettle" else to
    if to == "fermenter" and after_final_gravity(entry, record):
        # The final gravity does not show it: it is in what is packed, as if it went in there.
        where = "container"
    lot = str(entry.lot) if entry.lot is not None else None
    read = reading.value
    if name in brewery.liquors and read.is_volume:
        warm = entry.temperature.value if entry.temperature is not None else LIQUOR_TEMPERATURE
        added = LiquorAdded(name, where, amount, warm, after_reading(entry, record), filling)
        return _with_more("liquor_added", added)
    if name in stock.malts and to == "mash" and read.is_mass:
        malt = replace(malt_of(name, amount, lot, stock), is_weighed=True, is_added=True)
        return _with_more("malts", malt)
    if name in stock.sugars and to in ("kettle", "fermenter", "container") and read.is_mass:
        before = _before_end(entry.at, record) if where == "kettle" else None
        sugar = replace(
            sugar_of(name, amount, where, stock, before), is_weighed=True, is_added=True,
            filling=filling,
        )  # fmt: skip
        return _with_more("sugars", sugar)
    if name in stock.hops and to == "kettle" and read.is_mass:
        return _adding_hop(entry, name, 1000 * amount, lot, record, stock)
    if name in stock.salts and to in ("mash", "sparge", "kettle") and read.is_mass:
        salt = stock.salts[name]
        assay = salt.assay.value if salt.assay is not None else 1.0
        dose = SaltDose(name, salt.is_, 1000 * amount, assay, to, is_weighed=True, is_added=True)
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


def _adding_hop(
    entry: Added,
    name: str,
    grams: Number,
    lot: str | None,
    record: Record,
    stock: Stock,
) -> CaseChange:
    ended, day = _heat_off(record), record.brew_day
    mine = moment(record, entry.at)
    alpha = hop_of(name, grams, 0.0, lot, stock, used_on(record))

    def change(case: Case) -> Case:
        whole = float(nominal(case.boil_minutes))
        # At what time of the boil nobody wrote: at any.
        minutes: float | None = whole / 2
        minutes_u = whole / 2
        if mine is not None and ended is not None:
            boiled, minutes_u = _in_boil(mine, ended, day.boil if day is not None else None)
            minutes = min(boiled, whole) if boiled >= 0 else None
        if minutes is None and case.hop_stand_temperature is None:
            minutes = 0.0
        hop = replace(
            alpha, minutes=minutes, minutes_u=minutes_u, is_weighed=True, is_added=True
        )
        return replace(case, hops=(*case.hops, hop))

    return change


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


def _withdrawals(record: Record) -> list[DayFact]:
    found, possible = [], _possible(record)
    for number, entry in enumerate(record.all_taken):
        value = entry.amount.value
        if value is None or not value.is_volume or id(entry) not in possible:
            continue
        where = str(entry.from_)
        stage = _PLACES[where]
        if where == "kettle":
            where = _in_kettle(entry.at, record)
            stage = _KETTLE[where]
        litres = ufloat(value.value, value.step / 2, "taken out")
        out = Withdrawal(where, litres)
        found.append(
            DayFact(
                f"taken:{number}", stage, f"{entry.what or 'wort'} taken from the {entry.from_}",
                value, moment(record, entry.at), entry.at is not None,
                _if_it_fits(_with_more("withdrawals", out), str(entry.from_), value),
            )
        )  # fmt: skip
    return found


def _with_more(table: str, item: Any) -> CaseChange:
    """Return the change that puts an item at the end of one of the lists of a case."""
    def change(case: Case) -> Case:
        longer: dict[str, Any] = {table: (*getattr(case, table), item)}
        return replace(case, **longer)

    return change


# Readings


def _readings(record: Record, keys: Iterable[str]) -> list[DayFact]:
    found = []
    for key in keys:
        figure = FIGURES[key]
        read = reading_at(record, figure)
        at, stage = moment(record, read.at) if read is not None else None, figure.stage
        if read is None and figure.analysed:
            stage = Stage.PACK
        later = at or _section_day(record, figure, read is None)
        found.append(
            DayFact(f"read:{key}", stage, figure.title, None, later, at is not None, figure=key)
        )
    return found


def _section_day(
    record: Record, figure: Figure, by_analysis: bool
) -> datetime.datetime | None:
    """Return the end of the day on which a section's readings were taken; None on the brew day."""
    day = None
    if by_analysis:
        day = record.analysis.date if record.analysis is not None else None
    elif figure.stage is Stage.FERMENT and record.fermentation is not None:
        day = record.fermentation.finished
    elif figure.stage is Stage.PACK and record.packaging is not None:
        day = record.packaging.date
    return None if day is None else datetime.datetime.combine(day.date, datetime.time(23, 59))

