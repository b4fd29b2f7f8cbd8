"""The amounts of a case that may be changed, and how far: the handles that a proposal turns.

A slot is one amount of a case; a handle moves one slot, or several that keep their proportions.
Amounts are in the units of the case: kg of malt and sugar, g of hops and salts, mL of acid, L and
degC.
The widest bounds are those beyond which no beer lies (common practice, no source); a vessel or a
store binds before.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from reportgen.forecast.case import Case
from reportgen.science.number import nominal

Slot = tuple[str, int]
"""A table of the case and the number in it; volumes and the first rest have one slot, 0."""

FIELD = {
    "malts": "amount", "sugars": "amount", "hops": "grams", "salts": "grams",
    "acids": "millilitres",
}  # fmt: skip
SCALARS = ("mash_liquor", "sparge_liquor", "top_up")
REST = "rest"

GROUPS = {
    "malts": "grist", "sugars": "sugars", "hops": "hops", "salts": "salts", "acids": "acids",
    "mash_liquor": "liquor", "sparge_liquor": "liquor", "top_up": "liquor",
    REST: "mash_temperature",
}  # fmt: skip
"""The name of the group that a slot belongs to, as it is named on the command line."""

MOST_PER_LITRE = {"malts": 1.0, "sugars": 0.5, "hops": 30.0, "salts": 3.0, "acids": 30.0}
"""The most of each in a litre of the batch: kg, kg, g, g, mL."""
REST_RANGE = (62.0, 72.0)
"""degC of a single rest that makes a beer: below it starch does not swell, above it the enzymes
that make the sugars are gone in minutes."""
LONG_BOILED = 30.0
"""Minutes from which a hop is boiled for its bitterness rather than its aroma."""


class NothingToChange(ValueError):
    """No amount may move that would move what is aimed at; the message says which."""


class Bound(Struct, frozen=True):
    """An end of a handle's range, and what sets it, in words."""

    value: float
    why: str


class Handle(Struct, frozen=True):
    """One number that is turned: ``shares`` are the amounts of its slots for one unit of it."""

    name: str
    slots: tuple[Slot, ...]
    shares: tuple[float, ...]
    start: float
    low: Bound
    high: Bound
    scale: float

    def amounts(self, value: float) -> dict[Slot, float]:
        """Return the amount in each slot at a value of the handle."""
        return {slot: share * value for slot, share in zip(self.slots, self.shares, strict=True)}


class Choice(Struct, frozen=True):
    """What may move: ``only`` these, where any are named, and never what is ``held``.

    Each is a group (``grist``, ``hops``, ...), an item by its name in the stock, or one entry as
    ``hops[0]``. ``most`` is the most of a slot that there is, and why.
    """

    only: frozenset[str] = frozenset()
    held: frozenset[str] = frozenset()
    most: Mapping[Slot, Bound] = field(default_factory=dict)

    def is_free(self, case: Case, slot: Slot) -> bool:
        """Whether a slot may move."""
        names = names_of(case, slot)
        return not names & self.held and (not self.only or bool(names & self.only))

    def is_named_alone(self, case: Case, slot: Slot) -> bool:
        """Whether a slot is named by itself, and not by its group."""
        return bool((names_of(case, slot) - {GROUPS[slot[0]]}) & self.only)


def names_of(case: Case, slot: Slot) -> frozenset[str]:
    """Return every name that a slot goes by on the command line."""
    table, number = slot
    group = GROUPS[table]
    if table in FIELD:
        entry = getattr(case, table)[number]
        return frozenset((group, entry.name, f"{group}[{number}]"))
    return frozenset((group, table, "mash_liquor" if table == "mash_liquor" else table))


def all_names(case: Case) -> frozenset[str]:
    """Return every name that something of a case goes by."""
    slots = [(table, n) for table in FIELD for n in range(len(getattr(case, table)))]
    return frozenset(GROUPS.values()).union(
        *(names_of(case, slot) for slot in [*slots, *((name, 0) for name in SCALARS)])
    )


def plain(thing: Any) -> Any:
    """Return a case, or a part of one, without its uncertainties."""
    if isinstance(thing, Struct):
        return replace(
            thing,
            **{
                name: plain(getattr(thing, name))
                for name in thing.__struct_fields__
                if name not in ("causes", "is_plain")
            },
            **({"causes": {}, "is_plain": True} if isinstance(thing, Case) else {}),
        )
    if isinstance(thing, tuple):
        return tuple(plain(part) for part in thing)
    if isinstance(thing, Mapping):
        return {key: plain(part) for key, part in thing.items()}
    return nominal(thing) if hasattr(thing, "nominal_value") else thing


def amount_at(case: Case, slot: Slot) -> float:
    """Return the amount in a slot."""
    table, number = slot
    if table == REST:
        return float(case.rests[0].temperature)
    if table in FIELD:
        return nominal(getattr(getattr(case, table)[number], FIELD[table]))
    entries = getattr(case, table)
    return 0.0 if entries is None else nominal(entries)


def with_amounts(case: Case, amounts: Mapping[Slot, float]) -> Case:
    """Return a case with other amounts in some slots."""
    new: dict[str, Any] = {}
    for (table, number), amount in amounts.items():
        if table == REST:
            new["rests"] = (replace(case.rests[0], temperature=amount), *case.rests[1:])
        elif table in FIELD:
            entries = list(new.get(table, getattr(case, table)))
            entries[number] = replace(entries[number], **{FIELD[table]: amount})
            new[table] = tuple(entries)
        else:
            new[table] = amount
    return replace(case, **new)


def together(
    case: Case, name: str, slots: Sequence[Slot], choice: Choice, least: float = 0.0
) -> Handle:
    """Return the handle that moves some slots of one table and keeps their proportions.

    Salts and acids that are not in the plan yet share alike; of others that all are nought there
    is no proportion to keep: :class:`NothingToChange`. ``least`` is a share of what there is now.
    """
    table = slots[0][0]
    now = [amount_at(case, slot) for slot in slots]
    total = sum(now)
    if total <= 0 and len(slots) > 1 and table in ("malts", "sugars", "hops"):
        raise NothingToChange(f"every amount of the {name} is nought: no proportion to keep")
    shares = tuple(amount / total if total > 0 else 1.0 / len(slots) for amount in now)
    most = MOST_PER_LITRE[table] * case.volume
    unit = {"malts": "kg", "sugars": "kg", "hops": "g", "salts": "g", "acids": "mL"}[table]
    high = Bound(
        max(most, total), f"{MOST_PER_LITRE[table]:g} {unit} of {name} for each litre of the batch"
    )
    for slot, share in zip(slots, shares, strict=True):
        bound = choice.most.get(slot)
        if bound is not None and share > 0 and bound.value / share < high.value:
            high = Bound(max(bound.value, 0.0) / share, bound.why)
    low = Bound(min(least * total, high.value), f"there is no less of {name} than none"
                if least == 0 else f"{least:.0%} of the {name} of the plan")
    typical = {"malts": 0.05, "sugars": 0.02, "hops": 0.5, "salts": 0.1, "acids": 0.1}[table]
    return Handle(name, tuple(slots), shares, min(max(total, low.value), high.value), low, high,
                  max(total, typical * case.volume))


def one_by_one(case: Case, slots: Iterable[Slot], choice: Choice) -> list[Handle]:
    """Return a handle for each slot."""
    return [
        together(case, words_of(case, slot), [slot], choice) for slot in slots
    ]


def words_of(case: Case, slot: Slot) -> str:
    """Return what a slot is, in words."""
    table, number = slot
    if table in FIELD:
        entry = getattr(case, table)[number]
        words = str(getattr(entry, "title", "") or entry.name.replace("_", " "))
        same = [n for n, other in enumerate(getattr(case, table)) if other.name == entry.name]
        if table == "hops" and len(same) > 1:
            minutes = entry.minutes
            words += " in the steep" if minutes is None else f" at {minutes:g} min"
        elif len(same) > 1 and hasattr(entry, "to"):
            words += f" to the {entry.to}"
        return words
    return {
        "mash_liquor": "mash liquor", "sparge_liquor": "sparge liquor", "top_up": "top-up liquor",
        REST: "mash temperature",
    }[table]  # fmt: skip


def volume_handle(case: Case, table: str) -> Handle:
    """Return the handle of a volume of liquor."""
    now = amount_at(case, (table, 0))
    name = words_of(case, (table, 0))
    return Handle(
        name, ((table, 0),), (1.0,), now,
        Bound(0.5 if table == "mash_liquor" else 0.0, f"there is no less {name}"),
        Bound(max(5.0 * case.volume, now), f"5 L of {name} for each litre of the batch"),
        max(now, 0.2 * case.volume),
    )  # fmt: skip


def rest_handle(case: Case) -> Handle:
    """Return the handle of the first rest's temperature."""
    now = amount_at(case, (REST, 0))
    low, high = min(REST_RANGE[0], now), max(REST_RANGE[1], now)
    return Handle(
        "mash temperature", ((REST, 0),), (1.0,), now,
        Bound(low, f"a mash at {low:g} °C"), Bound(high, f"a mash at {high:g} °C"), 10.0,
    )  # fmt: skip


def malt_handles(case: Case, choice: Choice, with_colour: bool) -> list[Handle]:
    """Return the handles of the grist.

    Malts named one by one move one by one. Of the others all keep their proportions, or, where a
    colour is aimed at too, those darker than the whole grist do, and the rest do.
    """
    free = [("malts", n) for n in range(len(case.malts)) if choice.is_free(case, ("malts", n))]
    alone = [slot for slot in free if choice.is_named_alone(case, slot)]
    rest = [slot for slot in free if slot not in alone]
    handles = one_by_one(case, alone, choice)
    if not rest:
        return handles
    if not with_colour or alone:
        return [*handles, together(case, "grist", rest, choice, 0.02)]
    total = sum(nominal(m.amount) for m in case.malts)
    mean = sum(nominal(m.amount * m.colour) for m in case.malts) / total if total else 0.0
    dark = [s for s in rest if nominal(case.malts[s[1]].colour) > mean]
    pale = [s for s in rest if s not in dark]
    if not dark or not pale:
        return [*handles, together(case, "grist", rest, choice, 0.02)]
    return [
        *handles,
        together(case, "paler malts", pale, choice, 0.02),
        together(case, "darker malts", dark, choice),
    ]


def hop_handles(case: Case, choice: Choice) -> list[Handle]:
    """Return the handle of the hops: all in proportion, save those named one by one."""
    free = [("hops", n) for n in range(len(case.hops)) if choice.is_free(case, ("hops", n))]
    alone = [slot for slot in free if choice.is_named_alone(case, slot)]
    if alone:
        return one_by_one(case, alone, choice)
    return [together(case, "hops", free, choice)] if free else []


def table_handles(case: Case, table: str, choice: Choice, to: Iterable[str]) -> list[Handle]:
    """Return a handle for each free entry of a table that goes to one of some places."""
    slots = [
        (table, n)
        for n, entry in enumerate(getattr(case, table))
        if entry.to in to and choice.is_free(case, (table, n))
    ]
    return one_by_one(case, slots, choice)
