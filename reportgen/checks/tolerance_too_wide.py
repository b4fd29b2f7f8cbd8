"""A tolerance is as wide as what it is meant to limit.

With a width of half the expected value or more, nearly every reading is ON PLAN, which says
nothing. The same holds for 5 K, 0.010 of gravity, pH 0.5 or 0.3 bar. Either the value itself was
typed, or a width for another batch size, or the decimal point is wrong.

Fix: write the half-width that the beer allows
Source: common practice, no source
Passes:
    plan: {tolerances: {kettle_volume: 2 L}}
Fails:
    plan: {tolerances: {kettle_volume: 45 L}}
"""

from reportgen.checks.base import Assessment, Group, Remark, Remarks, Severity
from reportgen.checks.quantities import value_of
from reportgen.checks.quantities import width_of as widest
from reportgen.record.kinds import read_width, width_of

GROUP = Group.READINGS
SEVERITY = Severity.MINOR

COUNTED = ("volume", "mass", "fraction")
"""Kinds of which half a value is much. A pale beer may well have half its colour for a tolerance."""


def check(batch: Assessment) -> Remarks:
    """Compare each tolerance typed with the value expected."""
    gallon = batch.brewery.bare_gallon
    for result in batch.results:
        figure, expected = result.figure, result.expected
        if figure.optional:
            continue
        for given in (batch.record.plan.tolerances, batch.brewery.tolerances):
            typed = given.get(figure.key)
            width = read_width(typed.text, figure.kind, gallon) if typed is not None else None
            if typed is None or width is None:
                continue
            counts = figure.kind in COUNTED and width.kind == figure.kind
            of_kind = width_of(figure.kind)
            wide = of_kind.wide if of_kind is not None else None
            if counts and expected is not None and 0 < expected.value <= 2 * width.value:
                shown = value_of(figure, expected.value, batch)
                yield Remark(
                    typed.position,
                    f"{figure.title}: {shown} expected, tolerance ±{typed.text}",
                    "less than half of the expected value",
                )
            elif wide is not None and width.value > wide:
                yield Remark(
                    typed.position,
                    f"{figure.title}: a tolerance of ±{typed.text} accepts nearly every reading",
                    f"at most ±{widest(figure, wide, batch)}",
                )
            break
