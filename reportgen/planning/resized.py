"""A plan written anew for another kit or volume: every amount by that kit, not by the volume alone.

The amounts begin scaled by the volume. The forecast on the new kit then says what its conversion,
losses, evaporation and hop use ask for, and the amounts are moved until the beer is that of the
other batch: its strength, bitterness, colour, ions and mash pH.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from reportgen.archive.replan import Path_, value_at, with_values
from reportgen.archive.workers import Progress, tell_nobody
from reportgen.assessment.steps import steps_of
from reportgen.forecast.aims import Aimed, aims_of
from reportgen.forecast.figures import FIGURE_OF_AIM
from reportgen.forecast.handles import Choice, Slot
from reportgen.forecast.propose import Aim, rounded
from reportgen.planning.proposal_text import aside, table
from reportgen.planning.proposing import Outcome, PlanInWork, most_of, outcome
from reportgen.record.kinds import read_quantity
from reportgen.record.printed import Units
from reportgen.record.quantity import Quantity
from reportgen.record.units import UnitError, parse_quantity
from reportgen.record.written import amount_text, block, flow
from reportgen.science.number import expanded_uncertainty, nominal

KEPT = ("original_gravity", "bitterness", "colour", "mash_ph")
IONS = ("calcium", "chloride", "sulfate")
TO_COLOUR = 2
"""Malts of a grist from which on its colour can be had by changing one against the other."""

_LISTS: tuple[tuple[Path_, str], ...] = (
    (("grist",), "malts"), (("sugars",), "sugars"), (("boil", "hops"), "hops"),
    (("boil", "hop_stand", "hops"), "hops"), (("fermentation", "dry_hops"), "hops"),
    (("boil", "finings"), "hops"), (("fermentation", "finings"), "hops"),
    (("liquor", "salts"), "salts"), (("liquor", "acids"), "acids"),
)  # fmt: skip
_VOLUMES: tuple[tuple[Path_, str], ...] = (
    (("liquor", "mash_liquor"), "mash_liquor"), (("liquor", "sparge_liquor"), "sparge_liquor"),
    (("liquor", "top_up_liquor"), "top_up"), (("liquor", "dilution_liquor"), "top_up"),
)  # fmt: skip


def resized(
    base: PlanInWork, kit: str | None, volume: str | None, progress: Progress = tell_nobody
) -> Outcome:
    """Return the plan of a batch for another kit or volume, compared with the plan it is like.

    Unreadable for a kit or a volume that cannot be; NothingToChange when nothing may move.
    """
    values: dict[Path_, Any] = {("kit",): kit or base.tree["kit"]}
    if volume is not None:
        try:
            given = parse_quantity(volume, "volume", base.brewery.bare_gallon)
            values["fermenter_volume",] = f"{given.number:g} {given.unit}"
        except UnitError:
            # The loader says what is wrong with it.
            values["fermenter_volume",] = volume
    # What others get of that wort is not theirs of this one.
    own = {key: value for key, value in base.tree.items() if key != "wort_to_others"}
    there = base.changed(with_values(own, values))
    ratio = there.record.plan.fermenter_volume.value / base.record.plan.fermenter_volume.value
    start = there.changed(with_values(there.tree, scaled(there, ratio)))
    choice = Choice(most=most_of(start))
    return outcome(start, aims_for(base), choice, compared=base, progress=progress)


def aims_for(base: PlanInWork) -> dict[str, Aimed]:
    """Return what the new plan is to give: what the other aims at and meets, else what it leads to.

    An aim that the other plan misses is not that of the same beer in another size.
    """
    planned = {
        name: aimed for name, aimed in aims_of(base.record.plan).items()
        if (number := aimed.aim.number(base.book)) is not None
        and abs(nominal(number) - aimed.aim.wanted)
        <= max(expanded_uncertainty(number), aimed.aim.step)
    }
    # What the yeast and the mash make of it does not hang on the size.
    aims = {name: planned[name] for name in (*KEPT, *IONS) if name in planned}
    wanted = [*KEPT]
    if base.case.salts:
        wanted += IONS
    if not base.case.acids:
        wanted.remove("mash_ph")
    if len(base.case.malts) < TO_COLOUR:
        wanted.remove("colour")
    for name in wanted:
        value = Aim(FIGURE_OF_AIM[name], 0.0).value(base.book)
        if name not in aims and value is not None and value > 0:
            aims[name] = Aimed(Aim(FIGURE_OF_AIM[name], value))
    if "mash_ph" in aims and not base.case.acids and "mash_ph" not in planned:
        del aims["mash_ph"]
    return {name: Aimed(aim.aim) for name, aim in aims.items()}


def scaled(plan: PlanInWork, ratio: float) -> dict[Path_, Any]:
    """Return every amount of a plan by its place, scaled and in whole steps."""
    step = steps_of(plan.record, plan.brewery)
    gallon = plan.brewery.bare_gallon
    values: dict[Path_, Any] = {}

    def put(place: Path_, kind: str, text: str) -> None:
        given = read_quantity(text, "amount", None, gallon)
        units = 1000.0 if kind in ("hops", "salts", "acids") else 1.0
        slot: Slot = (kind, 0)
        amount = given.value * ratio * units
        unit = step(slot, amount)
        if kind == "malts":
            unit = min(unit, 0.01)
        if 0 < amount < unit:
            # Less than the scale can tell is not made a whole step of it: dose-below-scale says so.
            unit = 10.0 ** math.floor(math.log10(amount / 5))
        amount = max(rounded(amount, unit, slot), unit if given.value > 0 else 0.0)
        values[place] = amount_text(amount / units, unit / units, given, given.unit, given.kind)

    for place, kind in _LISTS:
        for number, entry in enumerate(value_at(plan.tree, place) or ()):
            put((*place, number, "amount"), kind, str(entry["amount"]))
    for place, kind in _VOLUMES:
        text = value_at(plan.tree, place)
        if text is not None:
            put(place, kind, str(text))
    text = value_at(plan.tree, ("pitch", "yeast_amount"))
    if text is not None:
        given: Quantity = read_quantity(str(text), "amount", None, gallon)
        amount = given.value * ratio
        fine = 0.001 if given.is_volume else 0.0001
        values["pitch", "yeast_amount"] = amount_text(amount, fine, given, given.unit, given.kind)
    return values


def as_lines(outcome: Outcome, like: str, ratio: float) -> Iterator[str]:
    """Yield the plan of the new record, with where each amount comes from."""
    base, new = outcome.before, outcome.after
    yield f"  like: {like}"
    changes = dict(outcome.changes)
    for key in ("like", "wort_to_others"):
        # A plan that starts from another does not take these.
        changes.pop(key, None)
    yield from (f"  # {line}" for line in _reasons(outcome, ratio))
    yield from block(changes, 1, _whys(base, new, like))
    yield f"  # The beer of {like}, and this one:"
    yield from (f"  # {line}" for line in table(outcome))
    yield from (f"  # {line}" for line in aside(new))


def _whys(base: PlanInWork, new: PlanInWork, like: str) -> dict[str, str]:
    """Return what each line was in the other plan, by the text of the new line."""
    reasons: dict[str, str] = {}
    for place, _ in _LISTS:
        old, entries = (value_at(p.tree, place) or () for p in (base, new))
        for number, entry in enumerate(entries):
            was = str(old[number]["amount"]) if number < len(old) else "none"
            reasons[flow(entry)] = f"{was} in {like}"
    for place, _ in _VOLUMES:
        was = value_at(base.tree, place)
        if was is not None:
            reasons[str(place[-1])] = f"{was} in {like}"
    return reasons


def _reasons(outcome: Outcome, ratio: float) -> Iterator[str]:
    """Yield in what the two kits differ, and what scaling by the volume alone would have missed."""
    base, new = outcome.before, outcome.after
    one, other = base.case, new.case
    yield f"{ratio:.3g} times the volume of {base.id}; the amounts follow from the kit as well:"
    if str(base.tree["kit"]) == str(new.tree["kit"]):
        yield "the same kit, whose losses and evaporation do not grow with the volume"
    for words, kind, was, now in (
        ("conversion", "ratio", one.conversion, other.conversion),
        ("grain absorption", "specific_volume", one.grain_absorption, other.grain_absorption),
        ("evaporation in an hour", "volume", one.evaporation, other.evaporation),
        ("left in the kettle", "volume", one.kettle_loss, other.kettle_loss),
    ):
        a, b = nominal(was), nominal(now)
        if a != b:
            units = Units(new.system)
            unit, a, b = units.label(kind), units.converted(a, kind), units.converted(b, kind)
            yield f"{words}{f', {unit}' if unit else ''}: {a:.3g} there, {b:.3g} here"
    for key, words in (("mash_efficiency", "mash efficiency"),):
        books: tuple[Mapping[str, Any], ...] = (base.book.expected, new.book.expected)
        if all(key in book for book in books):
            a, b = (book[key].value for book in books)
            yield f"{words}: {a:.1%} there, {b:.1%} here"


__all__ = ["as_lines", "resized"]
