"""One ingredient for another: what of the plan is replaced, and what the beer is to keep.

A hop keeps its bitterness by the long-boiled additions and its weight in the late ones; a malt
keeps strength and colour; a salt keeps the ion that both bring; a sugar keeps its extract; another
liquor keeps the ions and the pH of the mash.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from reportgen.archive.replan import Path_, with_values
from reportgen.assessment.steps import steps_of
from reportgen.forecast.aims import Aimed
from reportgen.forecast.figures import FIGURE_OF_AIM, IONS
from reportgen.forecast.handles import LONG_BOILED, Choice
from reportgen.forecast.propose import Aim, bittering, rounded
from reportgen.planning.proposing import PlanInWork
from reportgen.record.failure import Misuse
from reportgen.record.kinds import read_quantity
from reportgen.record.suggest import did_you_mean
from reportgen.record.written import amount_text
from reportgen.science.number import nominal
from reportgen.science.salts import ion_increase

TABLES = ("malts", "sugars", "hops", "salts")


class Swap(Struct, frozen=True):
    """A plan with one thing for another, what it is to keep, and what may move for that."""

    plan: PlanInWork
    aims: Mapping[str, Aimed]
    choice: Choice
    remark: str = ""
    new: tuple[str, str] = ("", "")
    """Table and name of what was put in; empty for a liquor."""

    def is_in(self, tree: Mapping[str, Any]) -> bool:
        """Whether a plan still has some of what was put in."""
        table, name = self.new
        return not table or any(e.get(KEY[table]) == name for _, e in _rows(tree, table))


def swapped(plan: PlanInWork, text: str) -> Swap:
    """Read ``OLD=NEW`` and put it into a plan. Misuse when either is not there."""
    old, sign, new = (part.strip() for part in text.partition("="))
    if not sign or not old or not new:
        raise Misuse(f"`{text}` is not a swap; write OLD=NEW, e.g. goldings=fuggle")
    if old in {str(part.liquor) for part in plan.record.plan.liquor.blend}:
        return _liquor(plan, old, new)
    table, old_item, old_lot = _named(plan, old)
    new_table, new_item, new_lot = _named(plan, new)
    if table != new_table:
        raise Misuse(f"`{old}` is one of {table}, `{new}` one of {new_table}: not to be swapped")
    if old_item == new_item and new_lot in ("", old_lot):
        raise Misuse(f"`{old}` for itself is no swap; name another item, or another lot of it")
    rows = [
        (place, entry) for place, entry in _rows(plan.tree, table)
        if entry.get(KEY[table]) == old_item and (not old_lot or entry.get("lot") == old_lot)
    ]
    if not rows:
        raise Misuse(f"the plan has no {old.replace('_', ' ')}")
    values: dict[Path_, Any] = {}
    for place, _ in rows:
        values[(*place, KEY[table])] = new_item
        # The lot of the old one is none of the new one.
        values[(*place, "lot")] = new_lot or None
    replaced = plan.changed(with_values(plan.tree, values))
    places = [place for place, _ in rows]
    if table == "hops":
        swap = _hops(plan, replaced, places)
    elif table == "malts":
        swap = _malts(plan, replaced, new_item)
    else:
        swap = _by_ratio(plan, replaced, table, old_item, new_item, places)
    return replace(swap, new=(table, new_item))


KEY = {"malts": "malt", "sugars": "sugar", "hops": "hop", "salts": "salt"}


def _named(plan: PlanInWork, name: str) -> tuple[str, str, str]:
    """Return table, item and lot that a name stands for; the lot is empty for an item."""
    known: list[str] = []
    for table in TABLES:
        items: Mapping[str, Any] = getattr(plan.stock, table)
        if name in items:
            return table, name, ""
        known += map(str, items)
        for item, entry in items.items():
            known += map(str, entry.lots)
            if name in entry.lots:
                return table, str(item), name
    known += map(str, plan.brewery.liquors)
    for others in ("yeasts", "acids", "finings"):
        if name in getattr(plan.stock, others):
            raise Misuse(f"`{name}` is one of {others}, which are not swapped here")
    raise Misuse(f"no malt, sugar, hop, salt or lot `{name}` in stock.yaml. "
                 f"{did_you_mean(name, known)}".strip())


def _rows(tree: Mapping[str, Any], table: str) -> list[tuple[Path_, Mapping[str, Any]]]:
    """Return the entries of a table in a plan, each with its place."""
    places: dict[str, list[Path_]] = {
        "malts": [("grist",)], "sugars": [("sugars",)], "salts": [("liquor", "salts")],
        "hops": [("boil", "hops"), ("boil", "hop_stand", "hops"), ("fermentation", "dry_hops")],
    }  # fmt: skip
    rows: list[tuple[Path_, Mapping[str, Any]]] = []
    for place in places[table]:
        here: Any = tree
        for step in place:
            here = here.get(step, {}) if isinstance(here, Mapping) else {}
        rows += [((*place, n), e) for n, e in enumerate(here) if isinstance(e, Mapping)]
    return rows


def _kept(plan: PlanInWork, *keys: str) -> dict[str, Aimed]:
    """Return what a plan's forecast gives, as aims."""
    kept = {}
    for key in keys:
        aim = Aim(key, 0.0)
        value = aim.value(plan.book)
        if value is not None:
            kept[key] = Aimed(Aim(key, value))
    return kept


def _hops(plan: PlanInWork, replaced: PlanInWork, places: list[Path_]) -> Swap:
    boiled = len(replaced.record.plan.boil.hops)
    mine = {
        (n if p[:2] == ("boil", "hops") else boiled + n) for p in places for n in (p[-1],)
        if isinstance(n, int) and p[0] == "boil"
    }
    hops = replaced.case.hops
    long = [n for n in mine if (hops[n].minutes or 0.0) >= LONG_BOILED]
    free = long or [n for _, n in bittering(replaced.case)] or sorted(mine)
    remark = "" if long else (
        "the hop is added late: its weight stays; the longest boiled hop makes up the bitterness"
    )
    return Swap(replaced, _kept(plan, "bitterness"),
                Choice(only=frozenset(f"hops[{n}]" for n in free)), remark)


def _malts(plan: PlanInWork, replaced: PlanInWork, new: str) -> Swap:
    case = replaced.case
    total = sum(nominal(m.amount) for m in case.malts)
    mean = sum(nominal(m.amount * m.colour) for m in case.malts) / total
    own = [m for m in case.malts if m.name == new]
    is_dark = nominal(own[0].colour) > mean
    others = {
        m.name for m in case.malts
        if m.name != new and (nominal(m.colour) > mean) != is_dark
    }  # fmt: skip
    # Two aims want two handles: the malt itself, and the others on the far side of the colour.
    if not others:
        return Swap(replaced, _kept(plan, "original_gravity"), Choice(only=frozenset({new})),
                    "no other malt of the grist can make up the colour")
    return Swap(replaced, _kept(plan, "original_gravity", "colour"),
                Choice(only=frozenset({new, *others})))


def _liquor(plan: PlanInWork, old: str, new: str) -> Swap:
    if new not in plan.brewery.liquors:
        hint = did_you_mean(new, list(map(str, plan.brewery.liquors)))
        raise Misuse(f"no liquor `{new}` in brewery.yaml. {hint}".strip())
    shares: dict[str, float] = {}
    for part in plan.record.plan.liquor.blend:
        name = new if part.liquor == old else str(part.liquor)
        shares[name] = shares.get(name, 0.0) + part.share.value
    blend = [{"liquor": name, "share": f"{100 * share:g} %"} for name, share in shares.items()]
    replaced = plan.changed(with_values(plan.tree, {("liquor", "blend"): blend}))
    keys = ("calcium", "chloride", "sulfate")
    aims = _kept(plan, *(FIGURE_OF_AIM[ion] for ion in keys), "mash_ph")
    return Swap(replaced, aims, Choice(only=frozenset({"salts", "acids"})))


def _by_ratio(
    plan: PlanInWork, replaced: PlanInWork, table: str, old: str, new: str, places: list[Path_]
) -> Swap:
    """Put in as much of a sugar or a salt as brings the same extract, or the same of an ion."""
    if table == "sugars":
        sugars = plan.stock.sugars
        share, remark = sugars[old].extract.value / sugars[new].extract.value, ""
    else:
        before, after = (
            {
                ion: grams * salt.purity
                for ion, grams in ion_increase(str(salt.is_), 1.0, 1.0).items() if ion in IONS
            }
            for salt in (plan.stock.salts[old], plan.stock.salts[new])
        )
        common = [ion for ion in ("calcium", "magnesium", "sulfate", "chloride", "sodium")
                  if ion in before and ion in after]
        if not common:
            raise Misuse(f"`{old}` and `{new}` have no ion in common")
        share = float(before[common[0]] / after[common[0]])
        remark = f"as much {common[0]} as before; the other ions change"
    values: dict[Path_, Any] = {}
    for place in places:
        here: Any = replaced.tree
        for step in place:
            here = here[step]
        given = read_quantity(str(here["amount"]), "mass", None, plan.brewery.bare_gallon)
        units = 1000.0 if table == "salts" else 1.0
        slot = (table, 0)
        fine = steps_of(plan.record, plan.brewery)(slot, given.value * share * units) / units
        amount = max(rounded(given.value * share, fine, slot), fine)
        values[(*place, "amount")] = amount_text(amount, fine, given, given.unit, "mass")
    return Swap(replaced.changed(with_values(replaced.tree, values)), {}, Choice(), remark)
