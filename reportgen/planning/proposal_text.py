"""A proposal as YAML to paste with its table, and as data for a program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from reportgen.forecast.figures import FIGURES
from reportgen.forecast.propose import Aim
from reportgen.planning.proposing import (
    Outcome,
    PlanInWork,
)
from reportgen.record.printed import Units
from reportgen.record.written import block
from reportgen.report.figure_text import figure_title, typed_number, typed_width
from reportgen.report.text_table import text_table
from reportgen.science.number import expanded_uncertainty, nominal

SHOWN = {key for key, figure in FIGURES.items() if figure.headline} | {
    "mash_ph", "fermenter_volume",
}  # fmt: skip
"""Figures in the table whether they are aimed at or not."""


def rows(proposed: Outcome) -> Iterator[tuple[str, str, str, str, str]]:
    """Yield figure, before, after with U, aim, status."""
    system = proposed.after.system
    aims = {aimed.aim.key: (aimed, settled) for aimed, settled in proposed.settled}
    order = [key for key in FIGURES if key in aims or key in SHOWN]
    for key in [*order, *(key for key in aims if key not in FIGURES)]:
        aimed, settled = aims.get(key, (None, None))
        books = proposed.before.book, proposed.after.book
        if key in FIGURES and key not in aims and not any(key in book for book in books):
            continue
        aim_of = aimed.aim if aimed is not None else Aim(key, 0.0)
        before, number = aim_of.value(books[0]), aim_of.number(books[1])
        now = typed_number(key, None if number is None else nominal(number), system)
        if number is not None and (spread := expanded_uncertainty(number)):
            now += f" ±{typed_width(key, spread, system)}"
        aim = typed_number(key, aimed.aim.wanted, system) if aimed is not None else ""
        status = ""
        if settled is not None:
            status = "held" if settled.is_held else "met" if settled.is_met else "missed"
        yield figure_title(key), typed_number(key, before, system), now, aim, status


HEAD = ("Figure", "Before", "After", "Aim", "")


def table(proposed: Outcome) -> list[str]:
    """Return the table of before, after and aim as lines."""
    return list(text_table([HEAD, *rows(proposed)], indent=""))


def as_text(proposed: Outcome, remarks: Sequence[str]) -> list[str]:
    """Return the proposal as YAML to paste, the table and what else to know as comments."""
    changes = proposed.changes
    lines = []
    if changes:
        lines += ["plan:  # copy over the plan; each list replaces the old one"]
        lines += list(block(changes, 1))
    else:
        lines.append("# Nothing to change: the plan meets its aims as nearly as can be weighed.")
    lines += [f"# {line}" for line in table(proposed)]
    lines += [f"# {name}: {before} -> {after}" for name, before, after in proposed.moved]
    lines += [f"# {line}" for line in [*remarks, *aside(proposed.after)]]
    return lines


def aside(plan: PlanInWork) -> Iterator[str]:
    """Yield the amounts that no line of a plan holds: yeast, gas, priming sugar."""
    units = Units(plan.system)
    for key in ("sparge_liquor", "yeast_amount", "pressure", "priming_sugar"):
        expected = plan.book.expected.get(key)
        if expected is None or (key == "sparge_liquor" and plan.case.sparge_liquor is not None):
            continue
        if key == "yeast_amount":
            kind, decimals = ("small_mass", 1) if plan.case.yeast.is_weighed else ("volume", 2)
            yield f"yeast: {units.plain(expected.value, kind, decimals)}, if all cells live"
        elif key == "priming_sugar":
            first = " in the first containers" if plan.case.share is not None else ""
            yield f"priming sugar{first}: {units.plain(expected.value, 'small_mass', 0)}"
        else:
            yield f"{FIGURES[key].in_sentence}: {typed_number(key, expected.value, plan.system)}"
    if plan.record.plan.liquor.acids:
        yield "acid: always into the liquor, never the reverse; wear eye protection,"
        yield "as its safety data sheet says"


def as_data(proposed: Outcome) -> dict[str, Any]:
    """Return a proposal as plain data for JSON, numbers in base units."""
    return {
        "met": proposed.is_met,
        "binding": list(proposed.binding),
        "aims": [
            {
                "aim": aimed.name, "wanted": aimed.aim.wanted, "before": settled.before,
                "after": settled.after, "half_step": settled.half_step, "met": settled.is_met,
                "why": list(settled.why),
            }
            for aimed, settled in proposed.settled
        ],
        "plan": proposed.changes if proposed.is_met else None,
    }  # fmt: skip
