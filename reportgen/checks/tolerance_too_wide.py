"""A tolerance is as wide as what it is meant to limit.

A width of half the expected value or more lets nearly every reading through, so that ON PLAN says
nothing; so does one of 5 K, of 0.010 of gravity, of pH 0.5 or of 0.3 bar. A value was typed for its
half-width, the width for another batch size, or its decimal point slipped.

Fix: write the half-width that the beer allows
Source: common practice, no source
Passes:
    plan: {tolerances: {kettle_volume: 2 L}}
Fails:
    plan: {tolerances: {kettle_volume: 45 L}}
"""

from collections.abc import Iterator

from reportgen.assessment.assess import Assessment, gallon_of
from reportgen.checks.base import Group, Remark
from reportgen.checks.quantities import value_of
from reportgen.checks.quantities import width_of as widest
from reportgen.record.finding import Severity
from reportgen.record.kinds import read_width, width_of

GROUP = Group.READINGS
SEVERITY = Severity.MINOR

COUNTED = ("volume", "mass", "fraction")
"""Kinds of which half a value is much. A pale beer may well have half its colour for a tolerance."""


def check(batch: Assessment) -> Iterator[Remark]:
    """Compare each tolerance typed with the value expected."""
    gallon = gallon_of(batch.brewery)
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
                    "less than half of what is expected",
                )
            elif wide is not None and width.value > wide:
                yield Remark(
                    typed.position,
                    f"{figure.title}: a tolerance of ±{typed.text} lets nearly everything through",
                    f"at most ±{widest(figure, wide, batch)}",
                )
            break
