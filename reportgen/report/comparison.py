"""The comparison of two batches or revisions as a page: only what differs, and what it did."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from msgspec import Struct

from reportgen.history.difference import Difference
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.flavours import term_words
from reportgen.record.printed import NARROW, Units
from reportgen.report.charts import Chart
from reportgen.report.figure_text import (
    figure_difference,
    figure_number,
    figure_title,
    figure_unit,
    listed,
)
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
    difference: Difference,
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
        difference.is_none,
        (*triangle_lines(difference), *apart_lines(difference)),
        common_line(difference),
        within_line(difference),
        chart,
        _plan(difference, a, b),
        _effects(difference, units),
        _results(difference, units, a, b),
        tuple(only_lines(difference, a, b)),
        _scores(difference, a, b),
    )


def triangle_lines(difference: Difference) -> tuple[str, ...]:
    """Say what the triangle tests between the two showed (ISO 4120)."""
    lines = []
    for test in difference.triangles:
        p = float(triangle_p_value(test.assessors, test.correct_responses))
        meaning = "they differ" if p <= 0.05 else "no difference shown"
        lines.append(
            f"Triangle test between the two, {test.date}: "
            f"{test.correct_responses} of {test.assessors} found "
            f"the different glass; p = {p:.3f}, {meaning} at the 5 % level (ISO 4120)."
        )
    return tuple(lines)


def apart_lines(difference: Difference) -> tuple[str, ...]:
    """Say why no scores stand there, where both were scored."""
    if not all(difference.scored) or difference.evenings:
        return ()
    return ("Both were scored, but never on one evening: such scores are not compared.",)


def common_line(difference: Difference) -> str:
    """Say in one line what the two plans have in common."""
    if not difference.common:
        return ""
    return f"Both plans have the same {', '.join(s.replace('_', '-') for s in difference.common)}."


def within_line(difference: Difference) -> str:
    """Say in one line which figures differ by no more than their U."""
    if not difference.within:
        return ""
    titles = (figure_title(pair.figure, pair.of) for pair in difference.within)
    return f"Within U: {listed(titles, in_sentence=True)}."


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


def _plan(difference: Difference, a: str, b: str) -> Table:
    rows = tuple(
        (Cell(change.place), Cell(change.before or "none", soft=not change.before),
         Cell(change.after or "none", soft=not change.after))
        for change in difference.plan
    )  # fmt: skip
    return Table("plan", "Plan", (Column("What"), Column(a), Column(b)), rows,
                 nothing="The plans do not differ.")


def _effects(difference: Difference, units: Units) -> Table:
    """Return what each section of the plan does to each figure, and all together."""
    by_figure = {(e.figure, e.section): e.change for e in difference.effects}
    moving = {effect.section for effect in difference.effects}
    sections = [section for section in difference.sections if section in moving]
    rows = []
    for effect in difference.together:
        cells = [Cell(figure_title(effect.figure))]
        for section in sections:
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
        *(Column(s.replace("_", "-"), True) for s in sections),
        Column(TOGETHER, True),
    )
    return Table("effects", "What the plan's differences do, by the forecast", columns,
                 tuple(rows), nothing="Nothing that shows in a figure.")


def _broken(text: str) -> str:
    """Return a number whose unit may stand below it, where ten columns leave little room."""
    return text.replace(NARROW, " ")


class ResultLine(NamedTuple):
    """One figure of both: its title, its unit and a text for each of the columns."""

    title: str
    unit: str
    cells: tuple[str, ...]
    can_be_told: bool


def results_title(are_brewed: bool) -> str:
    """Return what the table of figures is called."""
    return "Figures that differ beyond U" if are_brewed else "What the plans expect"


def result_columns(compared: Difference) -> tuple[tuple[str, int], ...]:
    """Return the columns of figures, each a word and which of the two it is of.

    Plan is held against plan, day against day; what one batch alone was stands last.
    """
    expected, actual = (
        tuple((word, side) for side in (0, 1) if word == "expected" or compared.brewed[side])
        for word in ("expected", "actual")
    )
    difference = (("difference", 1),)
    if all(compared.brewed):
        return (*expected, *actual, *difference)
    return (*expected, *difference, *actual)


def result_lines(difference: Difference, units: Units) -> Iterator[ResultLine]:
    """Yield the figures in which the two differ."""
    for pair in difference.results:
        key = pair.figure
        size, doubt = pair.difference, pair.doubt
        if not all(difference.brewed):
            one, two = pair.expected
            size, doubt = (None if one is None or two is None else two - one), ""
        cells = []
        for word, side in result_columns(difference):
            if word == "difference":
                cells.append("" if size is None else figure_difference(units, key, size) + doubt)
                continue
            value = (pair.expected if word == "expected" else pair.actual)[side]
            cells.append("" if value is None else figure_number(units, key, value))
        yield ResultLine(
            figure_title(key, pair.of), figure_unit(units, key), tuple(cells), pair.can_be_told
        )


def _results(difference: Difference, units: Units, a: str, b: str) -> Table:
    words = [
        "Difference" if word == "difference" else f"{word.capitalize()} {(a, b)[side]}"
        for word, side in result_columns(difference)
    ]
    rows = []
    for line in result_lines(difference, units):
        cells = (
            Cell(text, strong=line.can_be_told and word == "Difference")
            for word, text in zip(words, line.cells, strict=True)
        )
        rows.append((Cell(line.title), Cell(line.unit), *cells))
    columns = (Column("Figure"), Column("Unit"), *(Column(word, True) for word in words))
    return Table("results", results_title(all(difference.brewed)), columns, tuple(rows),
                 nothing="None differs beyond U.")


def only_lines(difference: Difference, a: str, b: str) -> list[str]:
    """Say what left the plan in one of the two alone."""
    one, two = (set(d) for d in difference.deviations)
    return [
        f"Deviations of {label} only: {listed(map(figure_title, sorted(only)), in_sentence=True)}."
        for label, only in ((a, one - two), (b, two - one))
        if only
    ]


def _scores(difference: Difference, a: str, b: str) -> Table:
    rows = tuple(
        (
            Cell(term_words(score.attribute)),
            Cell("" if score.first is None else f"{score.first:.1f}"),
            Cell("" if score.second is None else f"{score.second:.1f}"),
        )
        for score in difference.scores
    )
    days = ", ".join(difference.evenings)
    return Table("scores", f"Tasted together, mean scores of {days}",
                 (Column("Attribute"), Column(a, True), Column(b, True)), rows)
