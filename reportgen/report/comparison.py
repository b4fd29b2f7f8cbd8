"""The comparison of two batches or revisions as a page: only what differs, and what it did."""

from __future__ import annotations

import datetime
from pathlib import Path

from msgspec import Struct

from reportgen.history.difference import Difference
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.flavours import term_words
from reportgen.record.printed import NARROW, Units
from reportgen.report.charts import Chart
from reportgen.report.figure_text import figure_difference, figure_number, figure_title, figure_unit
from reportgen.report.ledger import (
    Cell,
    Column,
    Frame,
    Table,
)
from reportgen.science.triangle import triangle_p_value

TOGETHER = "together"


class ComparisonPage(Struct, frozen=True):
    """Two sides and what differs between them."""

    frame: Frame
    a: str
    b: str
    nothing: bool
    triangle: tuple[str, ...]
    common: str
    within: str
    chart: Chart | None
    plan: Table
    effects: Table
    results: Table
    only: tuple[str, ...]
    scores: Table


def comparison_page(
    found: Difference,
    sides: tuple[str, str],
    labels: tuple[str, str],
    brewery: Brewery,
    chart: Chart | None = None,
) -> ComparisonPage:
    """Return the page; ``sides`` describe the two in full, ``labels`` name their columns.

    ``chart`` is the stepped chart from the one to the other, where both share a plan.
    """
    units = Units(brewery.system)
    a, b = labels
    frame = Frame(
        f"{a} and {b}", str(brewery.name), str(brewery.language or "en"), "", "../ledger/",
        "Made by reportgen compare.",
    )  # fmt: skip
    return ComparisonPage(
        frame,
        sides[0],
        sides[1],
        found.is_none,
        triangle_lines(found),
        common_line(found),
        within_line(found),
        chart,
        _plan(found, a, b),
        _effects(found, units),
        _results(found, units, a, b),
        tuple(_only(found, a, b)),
        _scores(found, a, b),
    )


def triangle_lines(found: Difference) -> tuple[str, ...]:
    """Say what the triangle tests between the two showed (ISO 4120)."""
    lines = []
    for test in found.triangles:
        p = float(triangle_p_value(test.assessors, test.correct_responses))
        meaning = "they differ" if p <= 0.05 else "no difference shown"
        lines.append(
            f"Triangle test between the two, {test.date}: "
            f"{test.correct_responses} of {test.assessors} found "
            f"the different glass; p = {p:.3f}, {meaning} at the 5 % level (ISO 4120)."
        )
    return tuple(lines)


def common_line(found: Difference) -> str:
    """Say in one line what the two plans have in common."""
    if not found.common:
        return ""
    return f"Both plans have the same {', '.join(s.replace('_', '-') for s in found.common)}."


def within_line(found: Difference) -> str:
    """Say in one line which figures differ by no more than their U."""
    if not found.within:
        return ""
    titles = [figure_title(pair.figure, pair.of) for pair in found.within]
    listed = ", ".join(title[:1].lower() + title[1:] for title in titles)
    return f"Within U: {listed}."


def comparison_pdf(
    page: ComparisonPage, paper: str, date: datetime.date, archive: Path | None = None
) -> bytes:
    """Return the comparison as PDF; ``date`` is the last day that the two records know of."""
    from reportgen.report.render import html, pdf

    text = html("comparison", page, paper, archive)
    return pdf(
        text,
        title=f"Comparison of {page.frame.title}",
        identifier_source=b"",
        date=date,
        archive=archive,
    )


def _plan(found: Difference, a: str, b: str) -> Table:
    rows = tuple(
        (Cell(change.place), Cell(change.before or "none", soft=not change.before),
         Cell(change.after or "none", soft=not change.after))
        for change in found.plan
    )  # fmt: skip
    return Table("plan", "Plan", (Column("What"), Column(a), Column(b)), rows,
                 nothing="The plans do not differ.")


def _effects(found: Difference, units: Units) -> Table:
    """Return what each section of the plan does to each figure, and all together."""
    by_figure = {(e.figure, e.section): e.change for e in found.effects}
    rows = []
    for effect in found.together:
        cells = [Cell(figure_title(effect.figure))]
        for section in found.sections:
            change = by_figure.get((effect.figure, section))
            cells.append(
                Cell("" if change is None else
                     _broken(figure_difference(units, effect.figure, change)))
            )
        together = _broken(figure_difference(units, effect.figure, effect.change))
        cells.append(Cell(together, strong=True))
        rows.append(tuple(cells))
    columns = (
        Column("Figure"),
        *(Column(s.replace("_", "-"), True) for s in found.sections),
        Column(TOGETHER, True),
    )
    return Table("effects", "What the plan's differences do, by the forecast", columns,
                 tuple(rows), nothing="Nothing that shows in a figure.")


def _broken(text: str) -> str:
    """Return a number whose unit may stand below it, where ten columns leave little room."""
    return text.replace(NARROW, " ")


def _results(found: Difference, units: Units, a: str, b: str) -> Table:
    def text(key: str, value: float | None) -> str:
        return "" if value is None else figure_number(units, key, value)

    rows = []
    for pair in found.results:
        key, difference = pair.figure, pair.difference
        rows.append(
            (
                Cell(figure_title(key, pair.of)),
                Cell(figure_unit(units, key)),
                *(Cell(text(key, value)) for value in (*pair.expected, *pair.actual)),
                Cell(
                    ""
                    if difference is None
                    else figure_difference(units, key, difference) + pair.doubt,
                    strong=pair.can_be_told,
                ),
            )
        )
    columns = (
        Column("Figure"), Column("Unit"), Column(f"Expected {a}", True),
        Column(f"Expected {b}", True), Column(f"Actual {a}", True), Column(f"Actual {b}", True),
        Column("Difference", True),
    )  # fmt: skip
    return Table("results", "Figures that differ beyond U", columns, tuple(rows),
                 nothing="None differs beyond U.")


def _only(found: Difference, a: str, b: str) -> list[str]:
    one, two = (set(d) for d in found.deviations)
    return [
        f"Deviations of {label} only: {', '.join(figure_title(k) for k in sorted(only))}."
        for label, only in ((a, one - two), (b, two - one))
        if only
    ]


def _scores(found: Difference, a: str, b: str) -> Table:
    rows = tuple(
        (
            Cell(term_words(score.attribute)),
            Cell("" if score.first is None else f"{score.first:.1f}"),
            Cell("" if score.second is None else f"{score.second:.1f}"),
        )
        for score in found.scores
    )
    days = ", ".join(found.evenings)
    return Table("scores", f"Tasted together, mean scores of {days}",
                 (Column("Attribute"), Column(a, True), Column(b, True)), rows)
