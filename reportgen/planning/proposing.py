"""What ``propose`` and ``new`` have in common: from a plan and its aims to a plan that meets them.

The plan is changed as plain data, written in the brewer's own units and read again by the loader,
so that what is shown is what the forecast says of the very lines that are printed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from reportgen.archive.register import read_register
from reportgen.archive.replan import (
    NoSuchPlace,
    Path_,
    assignments,
    more_of,
    replanned,
    value_at,
    with_values,
)
from reportgen.archive.workers import Progress, tell_nobody
from reportgen.assessment.assess import harvest_of
from reportgen.assessment.steps import scale_unit, steps_of
from reportgen.forecast.aims import Aimed
from reportgen.forecast.book import Forecast
from reportgen.forecast.case import Case
from reportgen.forecast.handles import FIELD, REST, Bound, Choice, Slot, amount_at, plain, words_of
from reportgen.forecast.propose import Aim, Proposal, Settled, propose, rounded
from reportgen.forecast.resolve import resolve
from reportgen.forecast.walk import walk
from reportgen.record.failure import Misuse
from reportgen.record.finding import Finding
from reportgen.record.load import Archive, Batch
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock
from reportgen.record.printed import Units
from reportgen.record.quantity import Quantity
from reportgen.record.written import amount_text, differing
from reportgen.science.number import nominal
from reportgen.store.balance import store_of
from reportgen.store.takings import counts_anything


class Unreadable(ValueError):
    """A plan that cannot be read with the values given; ``findings`` say why."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("; ".join(f.message for f in findings) or "the plan cannot be read")


class PlanInWork(Struct, frozen=True):
    """A plan as plain data and as read, with its case and the forecast from it."""

    root: Path
    file: str
    id: str
    name: str
    tree: Mapping[str, Any]
    more: Mapping[str, Any]
    record: Record
    brewery: Brewery
    stock: Stock
    case: Case
    book: Forecast
    stopped: tuple[tuple[str, Exception], ...]
    archive: Archive
    batch: Batch

    def changed(self, tree: Mapping[str, Any]) -> PlanInWork:
        """Return the same batch with another plan. :class:`Unreadable` when it cannot be."""
        return read_plan(self.root, self.file, self.id, self.name, tree, self.more)

    @property
    def system(self) -> str:
        """The units of the house."""
        return self.brewery.system


def read_plan(
    root: Path, file: str, batch: str, name: str, tree: Mapping[str, Any],
    more: Mapping[str, Any],
) -> PlanInWork:
    """Read a plan as if it stood in a file. :class:`Unreadable` when it cannot be."""
    archive, bound, wrong = replanned(root, file, batch, name, tree, **more)
    brewery, stock = archive.brewery, archive.stock
    if bound is None or bound.record is None or brewery is None or stock is None or wrong:
        errors = wrong or [f for f in archive.findings if f.severity.value == "error"]
        raise Unreadable(errors)
    try:
        case = resolve(bound.record, brewery, stock, harvest_of(archive, bound.record))
    except (KeyError, ZeroDivisionError) as error:
        raise Unreadable(()) from error
    book, stopped = walk(case)
    return PlanInWork(
        root, file, batch, name, dict(tree), dict(more), bound.record, brewery, stock, case, book,
        tuple(stopped), archive, bound,
    )  # fmt: skip


def plan_of(archive: Archive, batch: Batch) -> PlanInWork:
    """Return the plan of a batch, whatever has been done of it already."""
    name = str(batch.record.name) if batch.record is not None else batch.id
    return read_plan(archive.root, batch.file, batch.id, name, batch.plan, more_of(batch))


def with_set(plan: PlanInWork, texts: list[str]) -> PlanInWork:
    """Return a plan with the values of ``--set``. Misuse when one cannot be."""
    try:
        return plan.changed(with_values(plan.tree, assignments(texts)))
    except NoSuchPlace as error:
        raise Misuse(f"--set: {error}") from error
    except Unreadable as error:
        said = [
            f.message + (f"; expected {f.expected}" if f.expected else "")
            for f in error.findings
        ] or ["the plan cannot be read with it"]
        raise Misuse("--set: " + "; ".join(said)) from error


def most_of(plan: PlanInWork) -> dict[Slot, Bound]:
    """Return the most of each slot that the store has for a plan; none for what is not counted."""
    if not counts_anything(plan.stock):
        return {}
    register = read_register(plan.root)
    others = [
        ties.store for id_, ties in register.ties.items()
        if ties.store is not None and id_ != plan.id
    ]
    store = store_of(plan.stock, others)
    bounds: dict[Slot, Bound] = {}
    for table in FIELD:
        for number, entry in enumerate(getattr(plan.case, table)):
            item = next((i for i in store.items if (i.table, i.name) == (table, entry.name)), None)
            number_of_lot = str(getattr(entry, "lot", ""))
            lot = store.lots.get((table, entry.name, number_of_lot))
            if item is None or (lot is None and number_of_lot):
                continue
            left = max(lot.left if lot is not None else item.left, 0.0)
            name = f"{item.title} {lot.number}" if lot is not None else item.title
            small = table in ("hops", "salts", "acids")
            kind = f"small_{item.kind}" if small else item.kind
            words = Units(plan.system).plain(left, kind, 0 if small else 2)
            bounds[table, number] = Bound(
                left / BASE_OF.get(table, 1.0), f"the store has {words} of {name}"
            )
    return bounds


class Outcome(Struct, frozen=True):
    """A proposal as a plan: before, after (as it is printed), each aim, what binds."""

    before: PlanInWork
    after: PlanInWork
    settled: tuple[tuple[Aimed, Settled], ...]
    binding: tuple[str, ...]
    moved: tuple[tuple[str, str, str], ...]
    """What moved: its name, its amount before and after, as written."""

    @property
    def is_met(self) -> bool:
        """Whether every aim is met and nothing binds."""
        return not self.binding and all(settled.is_met for _, settled in self.settled)

    @property
    def changes(self) -> dict[str, Any]:
        """What of the plan differs, to be laid over it."""
        return differing(self.before.tree, self.after.tree)


def outcome(
    plan: PlanInWork,
    aims: Mapping[str, Aimed],
    choice: Choice,
    to_both: bool = False,
    compared: PlanInWork | None = None,
    progress: Progress = tell_nobody,
) -> Outcome:
    """Propose amounts for a plan. ``compared`` is what the result is shown against, if another.

    NothingToChange when no amount may move.
    """
    step = steps_of(plan.record, plan.brewery)
    proposal = propose(
        plan.case, [a.aim for a in aims.values()], choice, step, _salts(plan.stock),
        _acids(plan.stock), to_both, progress,
    )  # fmt: skip
    tree = tree_with(plan, proposal, step)
    tree = with_yeast(plan, tree)
    after = plan.changed(tree)
    before = compared or plan
    by_key = {a.aim.key: a for a in aims.values()}
    settled = []
    for reached in proposal.settled:
        aim = reached.aim
        now, then = aim.value(after.book), aim.value(before.book)
        settled.append(
            (by_key.get(aim.key, Aimed(aim)), replace(reached, before=then, after=now))
        )
    return Outcome(
        before, after, tuple(settled), proposal.binding, moved_in(plan, proposal)
    )


def _salts(stock: Stock) -> dict[str, tuple[str, float]]:
    return {
        str(name): (str(salt.is_), salt.purity)
        for name, salt in stock.salts.items()
    }


def _acids(stock: Stock) -> dict[str, tuple[str, float]]:
    return {str(name): (str(a.is_), a.strength.value) for name, a in stock.acids.items()}


def place_of_slot(record: Record, slot: Slot) -> Path_:
    """Return where the amount of a slot stands in the plan."""
    table, number = slot
    if table == REST:
        return ("mash", "rests", 0, "temperature")
    if table == "malts":
        return ("grist", number, "amount")
    if table == "sugars":
        return ("sugars", number, "amount")
    if table == "hops":
        boiled = len(record.plan.boil.hops)
        if number < boiled:
            return ("boil", "hops", number, "amount")
        return ("boil", "hop_stand", "hops", number - boiled, "amount")
    if table in ("salts", "acids"):
        return ("liquor", table, number, "amount")
    return ("liquor", {"mash_liquor": "mash_liquor", "sparge_liquor": "sparge_liquor",
                       "top_up": "top_up_liquor"}[table])  # fmt: skip


KIND_OF = {"malts": "mass", "sugars": "mass", "hops": "mass", "salts": "mass", "acids": "volume",
           REST: "temperature"}
BASE_OF = {"hops": 0.001, "salts": 0.001, "acids": 0.001}
"""What one unit of a case is in the base unit of its kind, where it is not one."""


def _quantity_at(record: Record, slot: Slot) -> Quantity | None:
    """Return the amount of a slot as the brewer wrote it; None for one that is new."""
    plan = record.plan
    table, number = slot
    rows: dict[str, Sequence[Any]] = {
        "malts": plan.grist, "sugars": plan.sugars, "hops": (*plan.boil.hops, *plan.steeped_hops),
        "salts": plan.liquor.salts, "acids": plan.liquor.acids,
    }  # fmt: skip
    if table == REST:
        return plan.mash.rests[0].temperature
    if table in rows:
        return rows[table][number].amount if number < len(rows[table]) else None
    return {"mash_liquor": plan.liquor.mash_liquor, "sparge_liquor": plan.liquor.sparge_liquor,
            "top_up": plan.liquor.top_up_liquor}[table]  # fmt: skip


def text_of_slot(plan: PlanInWork, slot: Slot, amount: float, step: float) -> str:
    """Return an amount of a slot as it is written in the file."""
    table = slot[0]
    kind, base = KIND_OF.get(table, "volume"), BASE_OF.get(table, 1.0)
    like = _quantity_at(plan.record, slot)
    unit = {"mass": "g" if table in ("hops", "salts") else "kg",
            "volume": "mL" if table == "acids" else "L", "temperature": "C"}[kind]
    if like is None and kind == "mass" and plan.system != "metric":
        unit = scale_unit(plan.brewery, amount * base) or "g"
    return amount_text(amount * base, step * base, like, unit, kind)


def tree_with(plan: PlanInWork, proposal: Proposal, step: Any) -> dict[str, Any]:
    """Return the plan's data with what was proposed; entries of nought are left out."""
    values: dict[Path_, Any] = {}
    gone: list[Path_] = []
    for slot, amount in sorted(proposal.amounts.items()):
        place = place_of_slot(plan.record, slot)
        is_entry = slot[0] in FIELD
        is_new = is_entry and value_at(plan.tree, place[:-1]) is None
        if is_entry and amount <= 0:
            if not is_new:
                gone.append(place[:-1])
            continue
        if not is_new and abs(amount - amount_at(proposal.case, slot)) < 1e-9:
            continue
        text = text_of_slot(plan, slot, amount, step(slot, amount))
        if is_new:
            entry = getattr(proposal.case, slot[0])[slot[1]]
            # Doses of nought that came before it are not written: it follows the last entry.
            listed = value_at(plan.tree, place[:-2]) or []
            new = sum(1 for p in values if p[:-1] == place[:-2] and isinstance(p[-1], int)
                      and p[-1] >= len(listed))
            values[(*place[:-2], len(listed) + new)] = {
                slot[0][:-1]: entry.name, "amount": text, "to": entry.to,
            }
        else:
            values[place] = text
    tree = with_values(plan.tree, values)
    for place in sorted(gone, key=lambda p: str(p), reverse=True):
        tree = with_values(tree, {place: None})
    return tree


def with_yeast(plan: PlanInWork, tree: dict[str, Any]) -> dict[str, Any]:
    """Return a plan with the yeast that its wort needs, where the plan states an amount.

    Dry yeast that is bought in packs is pitched in whole packs.
    """
    given = plan.record.plan.pitch.yeast_amount
    if given is None:
        return tree
    after = plan.changed(tree)
    needed, then = after.book.expected.get("yeast_amount"), plan.book.expected.get("yeast_amount")
    if needed is None or then is None or then.value <= 0:
        return tree
    # As much for each cell wanted as the plan has: it knows how many of its cells live.
    amount = given.value * needed.value / then.value
    pack = getattr(plan.stock.yeasts[plan.record.plan.pitch.yeast], "pack", None)
    if pack is not None and pack.kind == given.kind:
        packs = max(1, -(-amount // pack.value) if amount % pack.value > 1e-9 else amount // (
            pack.value))
        text = amount_text(packs * pack.value, pack.step, given, given.unit, given.kind)
    else:
        step = max(given.step, 0.001 if given.is_volume else 0.0001)
        text = amount_text(rounded(amount, step, ("yeast", 0)), step, given, given.unit,
                           given.kind)
    return with_values(tree, {("pitch", "yeast_amount"): text})


def moved_in(plan: PlanInWork, proposal: Proposal) -> tuple[tuple[str, str, str], ...]:
    """Return what moved, in words and as written."""
    moved = []
    for slot, amount in sorted(proposal.amounts.items()):
        before = amount_at(proposal.case, slot)
        if abs(amount - before) < 1e-9:
            continue
        like = _quantity_at(plan.record, slot)
        step = steps_of(plan.record, plan.brewery)(slot, amount)
        moved.append((
            words_of(proposal.case, slot), like.text if like is not None else "none",
            text_of_slot(plan, slot, amount, step) if amount > 0 else "none",
        ))  # fmt: skip
    return tuple(moved)


__all__ = [
    "Aim", "Bound", "Choice", "Outcome", "PlanInWork", "Unreadable", "nominal", "outcome", "plain",
]
