"""The ledger's page of the own history: charts, what they say, what they propose, comparisons."""

from __future__ import annotations

import itertools

from markupsafe import Markup
from msgspec import Struct

from reportgen.history.pairs import GroupComparison, compare_groups, groups
from reportgen.history.row import BatchRow, RowFigure
from reportgen.history.series import FEWEST, Point, Series, proposal_of
from reportgen.record.printed import Units
from reportgen.report.history_words import (
    MeasureText,
    caveats,
    comparison_sentence,
    facts,
    proposal_text,
    remarks,
    told_of,
    triangle_sentence,
)
from reportgen.report.ledger import (
    Cell,
    Column,
    Frame,
    LedgerData,
    Rows,
    Table,
    batch_href,
    frame_of,
    name_of,
    owner_name,
)
from reportgen.report.svg import INK, PALE, SOFT, Drawing, Scale, nice_ticks

WIDTH, HEIGHT = 246.0, 118.0
"""A chart on a phone's screen, points; it grows with the column it stands in."""

LEFT, RIGHT, TOP, BOTTOM = 34.0, 200.0, 8.0, 100.0
MOST_POINTS = 60
"""Batches drawn in one chart: the latest. All of them stand in the table."""


class SeriesView(Struct, frozen=True):
    """One measure of a kit or yeast."""

    title: str
    about: str
    svg: Markup
    facts: tuple[tuple[str, str], ...]
    remarks: tuple[str, ...]
    proposal: str
    file: str
    table: Table


class HistoryGroup(Struct, frozen=True):
    """All measures of one kit or one yeast."""

    key: str
    title: str
    series: tuple[SeriesView, ...]

    @property
    def most(self) -> int:
        """How many batches the longest series has."""
        return max(len(s.table.rows) for s in self.series)


class ComparisonView(Struct, frozen=True):
    """Two yeasts or liquors compared."""

    title: str
    table: Table
    tests: tuple[str, ...]
    caveats: tuple[str, ...]


class HistoryPage(Struct, frozen=True):
    """The own history."""

    frame: Frame
    lead: str
    groups: tuple[HistoryGroup, ...]
    mash: Table
    comparisons: tuple[ComparisonView, ...]


def chart(series: Series, units: Units) -> Markup:
    """Return an individuals chart: values in order, mean, warning and action limits, as stated."""
    kind = series.measure.kind
    shown = series.points[-MOST_POINTS:]

    def printed(value: float) -> float:
        return units.converted(value, kind)

    values = [printed(p.value) for p in shown]
    lines: list[tuple[float, str, str]] = []
    if series.chart is not None:
        lines.append((printed(series.chart.centre), "", "mean"))
        lines += [(printed(v), "5 3", "warning") for v in series.chart.warning]
        lines += [(printed(v), "1.5 2.5", "action") for v in series.chart.action]
    if series.stated is not None:
        lines.append((printed(series.stated), "stated", "stated"))
    ticks = nice_ticks(min([*values, *(v for v, _, _ in lines)]),
                       max([*values, *(v for v, _, _ in lines)]), 3)
    drawing = Drawing(HEIGHT, _alternative(series, units), WIDTH)
    y = Scale(ticks[0], ticks[-1], BOTTOM, TOP)
    x = Scale(-0.5, max(len(shown) - 0.5, 0.5), LEFT, RIGHT)
    places = 0 if ticks[1] - ticks[0] >= 1 else 1 if ticks[1] - ticks[0] >= 0.1 else 2
    for tick in ticks:
        drawing.line([(LEFT, y(tick)), (RIGHT, y(tick))], PALE, 0.5)
        label = f"{tick:.{places}f}".replace("-", "\u2212")
        drawing.words(LEFT - 4, y(tick) + 3, label, "end", colour=SOFT)
    _limits(drawing, lines, y)
    run = [(x(n), y(v)) for n, v in enumerate(values)]
    counted = [place for place, p in zip(run, shown, strict=True) if not p.aside]
    if len(counted) > 1:
        drawing.line(counted, SOFT, 0.75)
    for place, point in zip(run, shown, strict=True):
        _mark(drawing, place, point)
    _ends(drawing, shown)
    return drawing.svg()


def _limits(drawing: Drawing, lines: list[tuple[float, str, str]], y: Scale) -> None:
    """Draw the lines, then name each at its right end where there is room for the word."""
    named: list[float] = []
    for value, dash, word in lines:
        place = y(value)
        if dash == "stated":
            drawing.line([(RIGHT - 10, place), (RIGHT, place)], INK, 2.0)
        else:
            drawing.line([(LEFT, place), (RIGHT, place)], INK, 0.75, dash)
        free = next(
            (at for at in (place, *(place + s * d for d in (4, 8) for s in (1, -1)))
             if all(abs(at - other) >= 8.5 for other in named)), None,
        )
        if free is not None:
            named.append(free)
            drawing.words(RIGHT + 4, free + 3, word, colour=SOFT)


def _mark(drawing: Drawing, place: tuple[float, float], point: Point) -> None:
    if point.aside:
        drawing.dot(*place, filled=False)
    elif point.standing == "action":
        drawing.square(*place, size=6.4)
    else:
        drawing.dot(*place, radius=2.2)


def _ends(drawing: Drawing, shown: tuple[Point, ...]) -> None:
    drawing.words(LEFT, HEIGHT - 4, shown[0].batch, colour=SOFT)
    if len(shown) > 1:
        drawing.words(RIGHT, HEIGHT - 4, shown[-1].batch, "end", colour=SOFT)


def _alternative(series: Series, units: Units) -> str:
    said = "; ".join(f"{label}: {words}" for label, words in facts(series, units))
    return f"{series.measure.title} by batch. {said}."


_STANDING = {"warning": "beyond a warning limit", "action": "beyond an action limit",
             "usual": "usual", "": ""}


def _series_view(data: LedgerData, series: Series) -> SeriesView:
    units = data.units
    told = told_of(series, units)
    proposal = proposal_of(series)

    def cells(point: Point) -> tuple[Cell, ...]:
        width = told.plus_minus(point.uncertainty)
        return (
            Cell(point.batch, href=batch_href(point.batch)),
            Cell(point.day),
            Cell(told.number(point.value), sort=f"{point.value:.6f}"),
            Cell(width),
            Cell(f"set aside: {point.aside}" if point.aside else _STANDING[point.standing],
                 strong=point.standing == "action" and not point.aside),
        )

    label = f", {told.unit}" if told.unit else ""
    title = f"{series.measure.title}{label}"
    table = Table(
        f"{series.measure.key}-{series.name}",
        f"{title}: every batch",
        (Column("Batch"), Column("Brewed", keep=True), Column("Value", True), Column("±U", True),
         Column("Standing")),
        Rows(series.points, cells),
    )
    return SeriesView(
        title,
        series.measure.about,
        chart(series, units) if len(series.points) >= FEWEST else Markup(""),
        tuple(facts(series, units)),
        tuple(remarks(series, units)),
        "" if proposal is None else proposal_text(proposal, units),
        series.measure.file,
        table,
    )


def history_page(data: LedgerData) -> HistoryPage:
    """Return the page of the own history."""
    sections = []
    for (of, name), members in itertools.groupby(
        data.history, key=lambda s: (s.measure.of, s.name)
    ):
        title = f"{of.capitalize()} {owner_name(data.stock, of, name)}"
        sections.append(
            HistoryGroup(f"{of}-{name}", title, tuple(_series_view(data, s) for s in members))
        )
    # What has been brewed on or with most comes first.
    order = ("kit", "yeast", "malt")
    sections.sort(key=lambda g: (order.index(g.key.split("-")[0]), -g.most, g.key))
    proposals = sum(bool(s.proposal) for g in sections for s in g.series)
    lead = (
        "What your kit, yeasts and base malts have done so far. Warning and action limits say "
        "what is usual; they are not tolerances, and none is ever set from them."
    )
    if proposals:
        lead += (
            f" {proposals} stated value{'s do' if proposals > 1 else ' does'} not agree with "
            "them: see what is proposed."
        )
    return HistoryPage(
        frame_of(data, "History", "history.html"),
        lead,
        tuple(sections),
        mash_table(data),
        tuple(_comparisons(data)),
    )


def mash_table(data: LedgerData) -> Table:
    """Return attenuation by yeast and mash temperature, one row a batch."""
    units = data.units
    finished = [
        (row, figure)
        for row in sorted(
            data.rows.values(), key=lambda r: (r.yeast, r.mash_temperature or 0.0, r.id)
        )
        if (figure := row.figure("apparent_attenuation")) is not None and figure.actual is not None
    ]

    def cells(pair: tuple[BatchRow, RowFigure]) -> tuple[Cell, ...]:
        row, figure = pair
        moved = row.measure("attenuation")
        assert figure.actual is not None
        difference = None if figure.expected is None else figure.actual - figure.expected
        return (
            Cell(row.id, href=batch_href(row.id)),
            Cell(name_of(data.stock.yeasts, row.yeast)),
            Cell(
                ""
                if row.mash_temperature is None
                else units.number(row.mash_temperature, "temperature", 1)
            ),
            Cell("" if row.generation is None else str(row.generation)),
            Cell(units.number(figure.actual, "fraction", 3)),
            Cell("" if difference is None else units.difference(difference, "fraction", 3)),
            Cell("" if moved is None else units.number(moved.value, "fraction", 3)),
        )

    return Table(
        "mash", "Apparent attenuation by yeast and mash temperature",
        (Column("Batch"), Column("Yeast"),
         Column(f"Mash, {units.label('temperature')}", True), Column("Generation", True),
         Column("Attenuation, %", True), Column("Less expected, points", True),
         Column("As of 66 °C, %", True)),
        Rows(finished, cells), "Find by yeast or batch", "No beer has finished yet.",
    )  # fmt: skip


def _comparisons(data: LedgerData) -> list[ComparisonView]:
    """Compare every two yeasts and every two liquors of which one has been brewed twice."""
    views = []
    for by in ("yeast", "liquor"):
        members = groups(data.rows.values(), by)
        for a, b in itertools.combinations(members, 2):
            comparison = compare_groups(data.rows, by, a, b)
            if comparison.compared or comparison.tests or comparison.pairs:
                views.append(_comparison_view(data, comparison))
    return views


def _comparison_view(data: LedgerData, comparison: GroupComparison) -> ComparisonView:
    units = data.units
    table = data.stock.yeasts if comparison.by == "yeast" else {}
    a, b = name_of(table, comparison.a), name_of(table, comparison.b)
    rows = tuple(
        (
            Cell(line.title),
            *(
                Cell(f"{MeasureText(units, line.kind, line.decimals).text(mean)} ({len(counted)})")
                for mean, counted in ((line.mean_a, line.a), (line.mean_b, line.b))
            ),
            Cell(comparison_sentence(line, a, b, units),
                 strong=line.result is not None and line.result.can_be_told),
        )
        for line in comparison.lines
    )
    title = f"{a} and {b}"
    return ComparisonView(
        title,
        Table(
            f"compare-{comparison.a}-{comparison.b}", f"{title}: means, with how many batches",
            (Column("What"), Column(a, True), Column(b, True), Column("What it shows")), rows,
        ),
        tuple(triangle_sentence(t) for t in comparison.tests),
        tuple(caveats(comparison)),
    )  # fmt: skip
