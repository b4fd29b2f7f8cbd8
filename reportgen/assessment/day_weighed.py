"""What was weighed, as facts of the day: which planned additions it stands for, its lot, its U.

What was not written down keeps its planned amount, less well known; that share is common practice,
no source.
"""

from __future__ import annotations

import datetime
import functools
import itertools
import math
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from reportgen.assessment.day_fact import CaseChange, DayFact
from reportgen.assessment.instruments import weighs_high_by
from reportgen.assessment.readings import (
    fitting,
    house_instrument,
    instrument_uncertainty,
)
from reportgen.assessment.times import moment
from reportgen.forecast.case import (
    AcidDose,
    Case,
    HopDose,
    SaltDose,
)
from reportgen.forecast.figures import Stage
from reportgen.forecast.materials import hop_of, malt_of
from reportgen.record.model.batch import Record
from reportgen.record.model.brew_day import Weighed
from reportgen.record.model.brewery import Brewery, Instrument
from reportgen.record.model.plan import Plan
from reportgen.record.model.stock import Stock
from reportgen.record.values import Reading, State
from reportgen.science.acid import acid_density
from reportgen.science.number import Number, nominal, ufloat

NOT_WEIGHED_U = 0.03
"""±U (k = 2), as a share, of what was planned and not written as weighed."""


def used_on(record: Record) -> datetime.date | None:
    """Return the day that hops are used: the brew day, else the one planned; None for unknown."""
    if record.brewed_on is not None:
        return record.brewed_on
    return record.plan.brew_on.date if record.plan.brew_on is not None else None


def hops_aged(record: Record, stock: Stock) -> list[DayFact]:
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


WEIGHED_TABLES = ("malts", "sugars", "hops", "salts", "acids")
"""The parts of a case that are lists of weighed things."""


def amount_field(entry: Any) -> tuple[str, float]:
    """Return the field of a case's item that is its amount, and how many of it are 1 kg or 1 L."""
    if isinstance(entry, HopDose | SaltDose):
        return "grams", 1000.0
    if isinstance(entry, AcidDose):
        return "millilitres", 1000.0
    return "amount", 1.0


def weighed_facts(record: Record, brewery: Brewery, stock: Stock) -> list[DayFact]:
    day = record.brew_day
    if day is None or not (day.weighed or day.run_off or day.boil or day.pitch):
        # A day that has only begun may still be written down.
        return []
    counted: dict[str, int] = {}
    by_place: dict[tuple[object, ...], DayFact] = {}
    for match in weighed_matches(record):
        entry = match.entry
        name = str(entry.item)
        number = counted.get(name, 0)
        counted[name] = number + 1
        fact = DayFact(
            f"weighed:{name}:{number}",
            _weighed_for(name, stock),
            f"{name.replace('_', ' ')} weighed",
            entry.amount.value,
            moment(record, entry.at or entry.amount.at),
            entry.at is not None,
            _weighing(match, record, brewery, stock) if match.shares else None,
        )
        # Parts of one addition are one fact: a part by itself would be an addition far too small.
        place = (name, match.shares) if match.shares else (name, number)
        by_place[place] = _together(by_place[place], fact) if place in by_place else fact
    facts = [*by_place.values()]
    facts.append(
        DayFact(
            "not weighed", Stage.BOIL, "Not written as weighed", None, None, False, _less_known()
        )
    )
    return facts


def _together(first: DayFact, second: DayFact) -> DayFact:
    """Return the fact that one addition was weighed in two parts."""
    changes = [fact.change for fact in (first, second) if fact.change is not None]
    amounts = [fact.amount for fact in (first, second) if fact.amount is not None]
    largest = max(amounts, key=lambda amount: amount.value, default=None)

    def change(case: Case) -> Case:
        return functools.reduce(lambda so_far, part: part(so_far), changes, case)

    if largest is not None and len(amounts) > 1:
        text, value = (" + ".join(a.text for a in amounts), sum(a.value for a in amounts))
        largest = replace(largest, text=text, value=value)
    return replace(first, amount=largest, change=change)


def planned_amounts(plan: Plan) -> dict[str, list[tuple[float, bool]]]:
    """Return the planned additions of each item, in order: kg or L, and whether on the brew day.

    What goes into the fermenter later comes last.
    """
    amounts: dict[str, list[tuple[float, bool]]] = {}
    for item in plan.ingredients:
        if item.table != "finings":
            amounts.setdefault(str(item.name), []).append((item.amount.value, not item.later))
    return amounts


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
    matches: dict[int, Match] = {}
    for name, entries in by_item.items():
        slots = planned.get(name, [(1.0, True)])
        amounts = [e.amount.value.value if e.amount.value is not None else 0.0 for e in entries]
        chosen = matched(amounts, [amount for amount, _ in slots])
        for n, (entry, places) in enumerate(zip(entries, chosen, strict=True)):
            whole = sum(slots[place][0] for place in places) or 1.0
            shares = tuple((p, slots[p][0] / whole) for p in places if slots[p][1])
            matches[id(entry)] = Match(entry, shares, places in chosen[:n])
    return [matches[id(entry)] for entry in record.all_weighed]


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
        field, _ = amount_field(item)
        if item.is_weighed or not nominal(getattr(item, field)):
            return item
        # One variable an item, made once, so that two walks over the same facts share it.
        spread = spreads.setdefault(
            item.name, ufloat(1.0, NOT_WEIGHED_U / 2, f"{item.name} not weighed")
        )
        return replace(item, **{field: getattr(item, field) * spread})

    def change(case: Case) -> Case:
        new: dict[str, Any] = {
            table: tuple(vaguer(item) for item in getattr(case, table)) for table in WEIGHED_TABLES
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
        for table in WEIGHED_TABLES:
            items = list(getattr(case, table))
            places = [n for n, item in enumerate(items) if item.name == name and not item.is_added]
            if not places:
                continue
            for number, share in match.shares:
                place = places[min(number, len(places) - 1)]
                field, units = amount_field(items[place])
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
