"""The views of ``figures`` that look at the plan alone: what if, and what matters."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

from reportgen.archive.matters import keys_of, number_of
from reportgen.assessment.assess import Assessment, assess
from reportgen.forecast.arguments import why_stopped
from reportgen.forecast.causes import Cause, causes_of, halving, worth_naming
from reportgen.forecast.figures import FIGURES
from reportgen.planning.proposing import PlanInWork, plan_of, with_set
from reportgen.record.load import Archive, Batch
from reportgen.report.figure_text import typed_number, typed_width
from reportgen.report.text_table import text_table
from reportgen.science.number import Number, expanded_uncertainty

BAR = 20
"""Letters of a bar that stands for the whole of U."""


def causes_data(batch: Assessment, key: str) -> dict[str, Any]:
    """Return what a figure's U comes from, as plain data in base units."""
    number = number_of(batch, key)
    causes = causes_of(number)
    return {
        "expected_U": round(expanded_uncertainty(number), FIGURES[key].decimals + 2),
        "causes": [
            {"cause": c.name, "U": float(f"{c.uncertainty:.3g}"), "share": round(c.share, 4)}
            for c in worth_naming(causes)
        ],
    }


def causes_text(batch: Assessment) -> Iterator[str]:
    """Yield what each figure's U comes from, a bar each, and what would halve it."""
    system = batch.brewery.system
    for key in keys_of(batch):
        number = number_of(batch, key)
        causes = worth_naming(causes_of(number))
        value = typed_number(key, batch.planned.expected[key].value, system)
        spread = typed_width(key, expanded_uncertainty(number), system)
        yield f"{FIGURES[key].title}: {value} ±{spread}"
        name = max((len(c.name) for c in causes), default=0)
        for cause in causes:
            bar = "#" * max(1, round(BAR * cause.share))
            yield f"  {cause.name.ljust(name)}  {cause.share:4.0%}  {bar}"
        yield from _halving_text(key, number, causes_of(number), system)
        yield ""


def _halving_text(
    key: str, number: Number, causes: Sequence[Cause], system: str
) -> Iterator[str]:
    halved = halving(number, causes)
    if not halved.causes:
        return
    if not halved.is_possible:
        yield "  to halve it: no single measurement will; most of it is the models' own spread"
        return
    for cause, then in halved.causes:
        if then <= 0.02 * cause.uncertainty:
            much = "so well that it no longer counts"
        else:
            much = (f"{cause.uncertainty / then:.1f} times as well"
                    f" (its part from ±{typed_width(key, cause.uncertainty, system)}"
                    f" to ±{typed_width(key, then, system)})")
        yield f"  to halve it: know {cause.name} {much}: measure {cause.remedy}"


def what_if(archive: Archive, batch: Batch, texts: list[str]) -> tuple[PlanInWork, PlanInWork]:
    """Return the plan of a batch as it stands and with the values given."""
    plan = plan_of(archive, batch)
    return plan, with_set(plan, texts)


def _expected(plan: PlanInWork) -> dict[tuple[int, str], tuple[str, float]]:
    """Return what a plan expects by kind of container and figure, and what these are called.

    The first has all figures; others, those that differ from one kind to another.
    """
    values = {(0, key): ("", plan.book.expected[key].value)
             for key in FIGURES if key in plan.book.expected}
    if plan.record.plan.packaging.also and (batch := assess(plan.archive, plan.batch)) is not None:
        values |= {
            (other.filling_number, r.figure.key): (other.packed_in, r.expected.value)
            for other in batch.others_filled for r in other.own_results if r.expected is not None
        }
    return values


def differences(
    plan: PlanInWork, then: PlanInWork
) -> Iterator[tuple[str, str, float | None, float | None]]:
    """Yield each figure that the two plans do not share, of which containers, with both values."""
    before, after = _expected(plan), _expected(then)
    order = {key: number for number, key in enumerate(FIGURES)}
    for at in sorted({**before, **after}, key=lambda at: (at[0], order[at[1]])):
        (of, one), (other_of, other) = (some.get(at, ("", None)) for some in (before, after))
        key = at[1]
        same = one is not None and other is not None and abs(one - other) < 10 ** -(
            FIGURES[key].decimals + 2
        )
        if not same:
            yield key, of or other_of, one, other


def what_if_text(plan: PlanInWork, then: PlanInWork) -> Iterator[str]:
    """Yield the figures that change, side by side, in the units of brewery.yaml."""
    rows, weighed = [], then.case.yeast.is_weighed
    for key, of, one, other in differences(plan, then):
        change = ""
        if one is not None and other is not None:
            sign = "+" if other >= one else "−"
            change = sign + typed_width(key, abs(other - one), plan.system, weighed)
        both = (typed_number(key, v, plan.system, weighed) for v in (one, other))
        rows.append((FIGURES[key].title + (f", {of}" if of else ""), *both, change))
    if not rows:
        yield "no figure changes"
        return
    head = ("Figure", "Plan", "What if", "Change")
    yield from text_table([head, *rows], indent="")


def what_if_json(plan: PlanInWork, then: PlanInWork) -> str:
    """Return the figures that change as JSON, numbers in base units."""
    rows = [
        {
            "batch": plan.id, "key": key, "plan": one, "what_if": other,
            "difference": None if one is None or other is None else other - one, "of": of or None,
        }
        for key, of, one, other in differences(plan, then)
    ]  # fmt: skip
    return json.dumps(rows, ensure_ascii=False, indent=1)


def stops(then: PlanInWork) -> Iterator[str]:
    """Yield why the forecast of a changed plan stops, if it does."""
    for stage, error in then.stopped:
        yield f"with these values the forecast stops at {stage}: {why_stopped(error, then.system)}"
