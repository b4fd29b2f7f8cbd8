"""Three batches or more side by side: only what differs, what they share in one line."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.forecast.figures import FIGURES
from reportgen.history.difference import (
    ALL,
    changes,
    difference_of,
    is_compared,
    is_told_of,
    kinds_across,
    means_of,
    shared_sections,
)
from reportgen.record.model.flavours import term_words
from reportgen.record.printed import BLANK, Units
from reportgen.report.comparison import results_title, triangle_lines
from reportgen.report.figure_text import figure_number, figure_title, figure_unit, listed
from reportgen.report.plan_text import units_of
from reportgen.report.text_table import text_table, wrapped
from reportgen.science.number import Number, expanded_uncertainty, nominal

LONGEST = 30
"""Letters of a value that stands in a column."""


class Across(Struct, frozen=True):
    """One value of all batches; None where one has none. ``of`` are the containers, if several."""

    key: str
    values: tuple[float | None, ...]
    of: str = ""


def figures_across(batches: Sequence[Assessment]) -> tuple[tuple[Across, ...], tuple[Across, ...]]:
    """Return the figures that differ beyond U between any two, and those within.

    Where none is brewed yet, those that the plans expect to be others.
    """
    across: list[Across] = []
    within: list[Across] = []
    for (of, kind), (key, figure) in itertools.product(kinds_across(batches), FIGURES.items()):
        if not is_compared(figure, kind) or not is_told_of(figure, of):
            continue
        numbers = [_number_of(batch, key, are_plans(batches)) for batch in kind]
        known = [n for n in numbers if n is not None]
        if len(known) < 2:
            continue
        if are_plans(batches):
            if len({f"{nominal(n):.{figure.decimals}f}" for n in known}) > 1:
                across.append(_across(key, numbers, of))
            continue
        beyond = any(
            abs(nominal(one) - nominal(two))
            > math.hypot(expanded_uncertainty(one), expanded_uncertainty(two))
            for one, two in itertools.combinations(known, 2)
        )
        (across if beyond else within).append(_across(key, numbers, of))
    return tuple(across), tuple(within)


def are_plans(batches: Sequence[Assessment]) -> bool:
    """Whether none of the batches is brewed yet: plans are held against each other."""
    return not any(batch.record.brew_day is not None for batch in batches)


def _number_of(batch: Assessment | None, key: str, as_planned: bool) -> Number | None:
    if batch is None:
        return None
    if not as_planned:
        return batch.as_brewed(key)
    expected = batch.planned.expected.get(key)
    return expected.value if expected is not None else None


def _across(key: str, numbers: Sequence[Number | None], of: str) -> Across:
    values = tuple(None if n is None else nominal(n) for n in numbers)
    return Across(key, values, "" if of == ALL else of)


def plan_across(batches: Sequence[Assessment]) -> dict[str, tuple[str, ...]]:
    """Return by place each value of the plans that is not alike in all batches."""
    first = batches[0].record.plan
    by_batch = [{c.place: c for c in changes(first, other.record.plan)} for other in batches[1:]]
    places = dict.fromkeys(place for plan in by_batch for place in plan)
    rows = {}
    for place in places:
        own = next(plan[place].before for plan in by_batch if place in plan)
        others = (plan[place].after if place in plan else own for plan in by_batch)
        rows[place] = (own, *others)
    return rows


def scores_across(
    batches: Sequence[Assessment],
) -> tuple[tuple[str, ...], dict[str, tuple[float | None, ...]]]:
    """Return the evenings on which all were scored, and the mean scores of these."""
    days = [{str(s.date) for s in batch.record.tasting if s.means} for batch in batches]
    evenings = tuple(sorted(set.intersection(*days)))
    means = [means_of(batch, evenings) for batch in batches]
    names = sorted({name for mean in means for name in mean})
    return evenings, {name: tuple(mean.get(name) for mean in means) for name in names}


def several_lines(batches: Sequence[Assessment], labels: Sequence[str]) -> Iterator[str]:
    """Yield the comparison of several batches as text, taste first."""
    units = units_of(batches[-1])
    for (a, one), (b, two) in itertools.combinations(zip(labels, batches, strict=True), 2):
        for line in triangle_lines(difference_of(one, two)):
            yield from wrapped(f"{a} and {b}: {line}", "")
    common = shared_sections(*batches)
    if common:
        same = ", ".join(s.replace("_", "-") for s in common)
        yield from wrapped(f"All plans have the same {same}.", "")
    evenings, scores = scores_across(batches)
    if scores:
        yield from _table(
            f"Tasted together, mean scores of {', '.join(evenings)}", labels,
            [(term_words(name), *(BLANK if v is None else f"{v:.1f}" for v in values))
             for name, values in scores.items()],
        )  # fmt: skip
    figures, within = figures_across(batches)
    yield from _table(
        results_title(not are_plans(batches)), labels,
        [(_title(units, a), *(_number(units, a.key, v) for v in a.values)) for a in figures],
    )  # fmt: skip
    if within:
        titles = (figure_title(a.key, a.of) for a in within)
        yield from wrapped(f"Within U: {listed(titles, in_sentence=True)}.", "")
    plan = plan_across(batches)
    short = {p: row for p, row in plan.items() if all(len(v or "") <= LONGEST for v in row)}
    yield from _table(
        "Plan", labels, [(place, *(v or "none" for v in row)) for place, row in short.items()]
    )
    # What would make the columns wide stands below, a paragraph a batch.
    for place, row in plan.items():
        if place not in short:
            yield f"  {place}"
            for label, value in zip(labels, row, strict=True):
                yield from wrapped(f"{label}: {value or 'none'}", "      ", "    ")


def _title(units: Units, across: Across) -> str:
    unit, title = figure_unit(units, across.key), figure_title(across.key, across.of)
    return f"{title}, {unit}" if unit else title


def _number(units: Units, key: str, value: float | None) -> str:
    return BLANK if value is None else figure_number(units, key, value)


def _table(title: str, labels: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    yield ""
    if not rows:
        yield f"{title}: none"
        return
    yield title
    every = [("", *labels), *rows]
    yield from text_table(every, range(1, len(labels) + 1))


def data_of(batches: Sequence[Assessment], labels: Sequence[str]) -> dict[str, Any]:
    """Return the comparison of several batches as plain data."""
    figures, within = figures_across(batches)
    evenings, scores = scores_across(batches)
    return {
        "batches": list(labels),
        "common": list(shared_sections(*batches)),
        "plan": [{"place": place, "values": list(v)} for place, v in plan_across(batches).items()],
        "figures": [{"figure": a.key, "of": a.of, "values": list(a.values)} for a in figures],
        "within": [{"figure": a.key, "of": a.of} for a in within],
        "evenings": list(evenings),
        "scores": [{"attribute": name, "values": list(v)} for name, v in scores.items()],
    }
