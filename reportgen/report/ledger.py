"""The ledger's pages: what each shows, in order, ready to print.

Every page is a frozen view of text. Tables are all of one shape, so that one template sets them:
as a table where there is room, as a block a row where there is not.
"""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import cached_property
from typing import TypeVar, overload

import msgspec
from msgspec import Struct

from reportgen.archive.build import digest, key_of
from reportgen.archive.links import Links
from reportgen.archive.register import Register
from reportgen.archive.summary import Summary
from reportgen.assessment.verdicts import Verdict
from reportgen.forecast.figures import FIGURES
from reportgen.history.row import BatchRow, DeviationValue, Listed
from reportgen.history.series import Series, Unusual, unusual_in
from reportgen.record.finding import Finding, Severity, in_error, once
from reportgen.record.listing import BREWERY, STOCK, record_names
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock
from reportgen.record.printed import Units
from reportgen.report.charts import Chart
from reportgen.report.figure_text import figure_difference, figure_number, figure_title, listed
from reportgen.report.off_plan_chart import off_plan_chart

NAVIGATION = (
    ("index.html", "Batches"),
    ("beers.html", "Beers"),
    ("yeast.html", "Yeast"),
    ("lots.html", "Lots"),
    ("history.html", "History"),
    ("findings.html", "Findings"),
)

STORE = ("store.html", "Store")
"""The page of the store, where it counts something."""

SHAPES = {
    Verdict.ON_PLAN.value: "on",
    Verdict.TOO_CLOSE.value: "close",
    Verdict.OFF_PLAN.value: "off",
    Verdict.NOT_RECORDED.value: "blank",
}
"""Shape that stands beside the words of a verdict, by its value."""

DISPOSITIONS = {
    "release": "released",
    "hold": "on hold",
    "rework": "to be reworked",
    "regrade": "regraded",
    "scrap": "scrapped",
}


class LedgerData(Struct, frozen=True, dict=True):
    """All that the pages are made from. What every page asks for is worked out once.

    ``rows`` has every batch; its ``summaries`` have the rest, read back when asked for.
    """

    register: Register
    brewery: Brewery
    stock: Stock
    links: Links
    rows: Mapping[str, BatchRow]
    summaries: Mapping[str, Summary]
    lost: tuple[str, ...]
    history: tuple[Series, ...]

    @cached_property
    def units(self) -> Units:
        """The units that the house prints in."""
        return Units(self.brewery.system)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Everything that the loader and the checks found, in order of place."""
        rows = (finding for row in self.rows.values() for finding in row.findings)
        return tuple(once([*self.register.findings, *rows]))

    @cached_property
    def findings_by_file(self) -> Mapping[str, tuple[Finding, ...]]:
        """The findings of each file that has some."""
        by_file: dict[str, list[Finding]] = {}
        for finding in self.findings:
            by_file.setdefault(finding.position.file, []).append(finding)
        return {file: tuple(group) for file, group in by_file.items()}

    @cached_property
    def batch_of_file(self) -> Mapping[str, str]:
        """The batch of each record."""
        return {row.file: row.id for row in self.rows.values()}

    @cached_property
    def order(self) -> Sequence[str]:
        """The batches in order of id."""
        return sorted(self.rows)

    @cached_property
    def unusual(self) -> Mapping[str, tuple[Unusual, ...]]:
        """Where each batch lies beyond an action limit, for those that do somewhere."""
        by_batch: dict[str, list[Unusual]] = {}
        for entry in unusual_in(self.history):
            by_batch.setdefault(entry.point.batch, []).append(entry)
        return {batch: tuple(group) for batch, group in by_batch.items()}

    @cached_property
    def faulty(self) -> frozenset[str]:
        """Files with a value that cannot be read: what is shown of them is not all there is."""
        return frozenset(in_error(self.register.findings))

    def is_faulty(self, row: BatchRow) -> bool:
        """Whether a record, or the house's files that it needs, cannot be read in full."""
        return bool(self.faulty & {row.file, BREWERY, STOCK})

    @cached_property
    def last_day(self) -> datetime.date | None:
        """The last day that any record knows of; it dates the printed list."""
        days = [row.last_day for row in self.rows.values() if row.last_day]
        return datetime.date.fromisoformat(max(days)) if days else None

    @property
    def last_entry(self) -> str:
        """What stands below a page of how far it goes."""
        if not self.rows:
            return "No batch yet."
        return "No day written yet." if self.last_day is None else f"Last entry {self.last_day}."


class Shape(Struct, frozen=True):
    """A mark with the number of figures that have it; ``words`` say it without the mark."""

    shape: str
    number: str
    words: str


class Link(Struct, frozen=True):
    """An address relative to the page, and its words. ``note`` stands beside it."""

    href: str
    text: str
    note: str = ""


class Column(Struct, frozen=True):
    """A column: its title, whether it holds numbers, whether its cells stay on one line."""

    title: str
    number: bool = False
    keep: bool = False


class Cell(Struct, frozen=True):
    """A cell of a table. ``sort`` is what it is sorted by where that is not its text."""

    text: str = ""
    href: str = ""
    sort: str = ""
    shapes: tuple[Shape, ...] = ()
    links: tuple[Link, ...] = ()
    strong: bool = False
    soft: bool = False

    def classes(self, column: Column) -> str:
        """Return the classes that the style of the cell goes by."""
        wide = self.links or len(self.text) > WIDE
        kinds = {
            "num": column.number, "keep": column.keep, "soft": self.soft, "break": self.breaks,
            "strong": self.strong, "wide-cell": wide,
        }  # fmt: skip
        return " ".join(name for name, is_so in kinds.items() if is_so)

    @property
    def breaks(self) -> bool:
        """Whether a word is so long that it may be broken anywhere rather than widen the page."""
        said = (self.text, *(f"{link.text} {link.note}" for link in self.links))
        return any(len(word) > LONGEST_WORD for text in said for word in text.split())


LONGEST_WORD, WIDE = 24, 40
"""Letters of a word that stays whole, and of a text beyond which its cell is a wide one."""


class Table(Struct, frozen=True):
    """A table. The first cell of each row names the row. ``find`` labels the filter, if any."""

    key: str
    caption: str
    columns: tuple[Column, ...]
    rows: Sequence[tuple[Cell, ...]]
    find: str = ""
    nothing: str = "Nothing here."


Item = TypeVar("Item")


class Rows(Sequence[tuple[Cell, ...]]):
    """The rows of a long table, each made when it is asked for: never are all of them held."""

    def __init__(self, items: Sequence[Item], make: Callable[[Item], tuple[Cell, ...]]) -> None:
        self._items: Sequence[Item] = items
        self._make = make

    def __len__(self) -> int:
        return len(self._items)

    def digest(self) -> str:
        """Return a digest of what stands in the rows: a page is known by what its view says."""
        total = hashlib.sha256()
        for row in self:
            total.update(msgspec.json.encode(row, enc_hook=_said))
        return total.hexdigest()

    @overload
    def __getitem__(self, place: int) -> tuple[Cell, ...]: ...
    @overload
    def __getitem__(self, place: slice) -> Rows: ...
    def __getitem__(self, place: int | slice) -> tuple[Cell, ...] | Rows:
        if isinstance(place, slice):
            return Rows(self._items[place], self._make)
        return self._make(self._items[place])


class Frame(Struct, frozen=True):
    """What stands round every page. ``root`` leads from the page to the ledger's own folder."""

    title: str
    house: str
    language: str
    current: str
    root: str
    foot: str
    navigation: tuple[tuple[str, str], ...] = NAVIGATION


BRACKETS = "In brackets: planned value, no reading yet."
"""Says what a number in brackets is, above a table that has some."""


class IndexPage(Struct, frozen=True):
    """All batches, and what is open in them."""

    frame: Frame
    lead: str
    open: Table
    unreadable: tuple[str, ...]
    batches: Table
    papers: tuple[Link, ...] = ()
    off_plan: Chart | None = None
    brackets: str = BRACKETS


class FindingsPage(Struct, frozen=True):
    """Everything the checks found, and every deviation, open ones first."""

    frame: Frame
    lead: str
    open: Table
    deviations: Table
    findings: Table


def frame_of(
    data: LedgerData, title: str, current: str, root: str = "", foot: str = ""
) -> Frame:
    """Return the frame of a page. ``foot`` is what stands below it if not the last entry."""
    return Frame(
        title,
        str(data.brewery.name),
        str(data.brewery.language or "en"),
        current,
        root,
        foot or data.last_entry,
        (*NAVIGATION, STORE) if data.register.store.items else NAVIGATION,
    )


def batch_href(batch: str, root: str = "") -> str:
    """Return the address of a batch's page."""
    return f"{root}batch/{batch}.html"


def name_of(table: Mapping[str, object], key: str) -> str:
    """Return the printed name of an item of the stock; its key in words when it has none."""
    words = key.replace("_", " ")
    return str(getattr(table.get(key), "name", None) or words[:1].upper() + words[1:])


def owner_name(stock: Stock, of: str, key: str) -> str:
    """Return the kit, yeast or malt of a series as it is printed."""
    if of == "kit":
        return key.replace("_", " ")
    return name_of(stock.yeasts if of == "yeast" else stock.malts, key)


def yeast_text(data: LedgerData, row: BatchRow) -> str:
    """Return the yeast of a batch with its generation."""
    name = name_of(data.stock.yeasts, row.yeast)
    link = data.links.yeast.get(row.id)
    count = row.generation
    if count is None and link is not None:
        count = link.counted
    return name if count is None else f"{name}, {count}"


def value_cell(data: LedgerData, row: BatchRow, key: Listed) -> Cell:
    """Return a cell with what became of a figure; what is only planned stands in brackets."""
    figure = row.figure(key)
    if figure is None:
        return Cell()
    decimals = FIGURES[key].headline_decimals
    if figure.as_brewed is not None:
        shown = figure_number(data.units, key, figure.as_brewed, decimals)
        return Cell(shown, sort=f"{figure.as_brewed:.6f}")
    if figure.expected is None or key == "packaged_volume":
        return Cell()
    shown = figure_number(data.units, key, figure.expected, decimals)
    return Cell(f"({shown})", sort=f"{figure.expected:.6f}", soft=True)


def verdict_cell(row: BatchRow) -> Cell:
    """Return a cell with how many figures have each verdict."""
    shapes = tuple(
        Shape(SHAPES[v.value], str(row.count(v.value)), v.value.lower())
        for v in Verdict
        if row.count(v.value)
    )
    off = row.count(Verdict.OFF_PLAN.value)
    return Cell(shapes=shapes, sort=str(off))


def standing_words(data: LedgerData, row: BatchRow) -> str:
    """Return how a batch stands: its disposition, or how far it has come, and what is open."""
    if data.is_faulty(row):
        return "cannot be read in full: see the findings"
    words = DISPOSITIONS.get(row.disposition, "")
    if not words:
        words = row.state if row.state in ("planned", "brewed", "fermented") else (
            f"{row.state}, not released"
        )
    open_ = len(row.open_deviations)
    return f"{words}, {plural(open_, 'deviation')} open" if open_ else words


def index_page(data: LedgerData, papers: tuple[Link, ...] = ()) -> IndexPage:
    """Return the page of all batches. ``papers`` are the lists and tables beside it."""
    return IndexPage(
        frame_of(data, "Batches", "index.html"),
        lead_of(data),
        open_table(data),
        tuple(data.lost),
        batch_table(data),
        papers,
        off_plan_chart(tuple(data.rows.values())),
    )


def left_out(register: Register, lost: Iterable[str]) -> tuple[str, ...]:
    """Return what the ledger lacks: batches not to be assessed, and files that are no batch.

    A file whose YAML cannot be read, or with the id of another, is named by its path.
    """
    known = set(register.files.values())
    return (*lost, *(file for file in record_names(register.root) if file not in known))


def plural(number: int, single: str, many: str = "") -> str:
    """Return a number with its word."""
    return f"{number} {single if number == 1 else many or single + 's'}"


def lead_of(data: LedgerData) -> str:
    """Return how many batches there are, how many are brewed and what is open."""
    every = data.rows.values()
    brewed = [s for s in every if s.state != "planned"]
    parts = [f"{plural(len(data.rows), 'batch', 'batches')}, {len(brewed)} brewed"]
    days = sorted(s.brewed for s in brewed if s.brewed)
    if days:
        parts[0] += f" from {days[0]} to {days[-1]}" if days[0] != days[-1] else f" on {days[0]}"
    open_ = sum(len(s.open_deviations) for s in every)
    parts.append("no deviation open" if not open_ else plural(open_, "deviation") + " open")
    undecided = sum(1 for s in every if s.packed and not s.disposition)
    if undecided:
        parts.append(f"{undecided} packed without a decision")
    return "; ".join(parts) + "."


def batch_table(data: LedgerData, only: Collection[str] | None = None) -> Table:
    """Return the table of all batches, or of some, latest first."""
    units = data.units
    volume = units.label("volume")
    columns = (
        Column("Batch"), Column("Beer"), Column("Brewed", keep=True), Column("Kit"),
        Column("Yeast, generation"), Column("Original gravity", True),
        Column("Final gravity", True), Column("Alcohol, %", True),
        Column("Bitterness, computed, IBU", True),
        Column("Colour, computed, EBC", True), Column(f"Packed, {volume}", True),
        Column("Verdicts", keep=True), Column("Standing"),
    )  # fmt: skip
    chosen = [data.rows[b] for b in reversed(data.order) if only is None or b in only]

    def cells(row: BatchRow) -> tuple[Cell, ...]:
        return (
            Cell(row.id, href=batch_href(row.id)),
            Cell(row.name),
            Cell(row.brewed or "not yet", soft=not row.brewed),
            Cell(row.kit.replace("_", " ")),
            Cell(yeast_text(data, row)),
            value_cell(data, row, "original_gravity"),
            value_cell(data, row, "final_gravity"),
            value_cell(data, row, "alcohol"),
            value_cell(data, row, "bitterness"),
            value_cell(data, row, "colour"),
            value_cell(data, row, "packaged_volume"),
            verdict_cell(row),
            Cell(standing_words(data, row),
                 strong=bool(row.open_deviations) or data.is_faulty(row)),
        )

    return Table(
        "batches", "All batches, latest first", columns, Rows(chosen, cells),
        "Find batches by name, kit, yeast, standing", "No batch can be read yet.",
    )  # fmt: skip


def change_words(data: LedgerData, deviation: DeviationValue) -> str:
    """Return by how much the first figure of a deviation was off."""
    if deviation.difference is None:
        return ""
    return figure_difference(data.units, deviation.figure, deviation.difference)


def shown_in(deviation: DeviationValue) -> str:
    """Return the titles of all figures that a deviation shows in."""
    return listed(figure_title(key) for key in deviation.figures)


def _deviation_row(data: LedgerData, row: BatchRow, deviation: DeviationValue) -> tuple[Cell, ...]:
    state = "open" if deviation.is_open else f"closed {deviation.closed_on}".rstrip()
    return (
        Cell(row.id, href=batch_href(row.id)),
        Cell(row.name),
        Cell(shown_in(deviation)),
        Cell(change_words(data, deviation)),
        Cell(deviation.severity, sort=str(deviation.severity.rank), strong=deviation.is_open),
        Cell(" ".join(deviation.what.split()) or "nothing written yet", soft=not deviation.what),
        Cell(" ".join(deviation.cause.split())),
        Cell(state, strong=deviation.is_open),
    )


DEVIATION_COLUMNS = (
    Column("Batch"), Column("Beer"), Column("Figure"), Column("Off by"), Column("Severity"),
    Column("What happened"), Column("Cause"), Column("Standing", keep=True),
)  # fmt: skip


def _deviations(data: LedgerData, open_only: bool) -> list[tuple[BatchRow, DeviationValue]]:
    pairs = [(row, d) for row in data.rows.values() for d in row.deviations if d.is_open or not
             open_only]
    return sorted(pairs, key=lambda p: (-p[1].severity.rank, p[0].id, p[1].figure))


def _deviation_rows(data: LedgerData, pairs: Sequence[tuple[BatchRow, DeviationValue]]) -> Rows:
    return Rows(pairs, lambda pair: _deviation_row(data, *pair))


def open_table(data: LedgerData, only: Collection[str] | None = None) -> Table:
    """Return the open deviations, worst first: of all batches, or of some."""
    pairs = _deviations(data, open_only=True)
    chosen = [pair for pair in pairs if only is None or pair[0].id in only]
    return Table(
        "open", "Open deviations, worst first", DEVIATION_COLUMNS, _deviation_rows(data, chosen),
        nothing="No deviation is open.",
    )  # fmt: skip


def findings_page(data: LedgerData) -> FindingsPage:
    """Return the page of findings and deviations."""
    closed = [pair for pair in _deviations(data, open_only=False) if not pair[1].is_open]
    findings = data.findings
    by_severity = {s: sum(f.severity is s for f in findings) for s in reversed(Severity)}
    counts = ", ".join(f"{n} {s.value}" for s, n in by_severity.items() if n)
    lead = (
        f"{plural(len(findings), 'finding')}: {counts}."
        if findings
        else "The checks found nothing."
    )
    return FindingsPage(
        frame_of(data, "Findings and deviations", "findings.html"),
        lead,
        open_table(data),
        Table(
            "deviations", "Closed deviations, worst first", DEVIATION_COLUMNS,
            _deviation_rows(data, closed), "Find deviations", "None.",
        ),
        finding_table(data, findings),
    )  # fmt: skip


def finding_table(data: LedgerData, findings: Iterable[Finding], root: str = "") -> Table:
    """Return findings as a table, worst first."""
    by_file = data.batch_of_file
    worst_first = sorted(findings, key=lambda f: (-f.severity.rank, *f.place))

    def cells(finding: Finding) -> tuple[Cell, ...]:
        place = finding.position
        batch = by_file.get(place.file, "")
        return (
            Cell(batch or place.file, href=batch_href(batch, root) if batch else ""),
            Cell(f"{place.file}:{place.line}:{place.column}",
                 sort=f"{place.file}:{place.line:06d}"),
            Cell(finding.severity.value, sort=str(finding.severity.rank),
                 strong=finding.severity >= Severity.MAJOR),
            Cell(finding.rule),
            Cell(finding.message),
            Cell(finding.expected),
            Cell(finding.remedy),
        )

    return Table(
        "findings", "What the checks found, worst first",
        (Column("Batch", keep=True), Column("Place"), Column("Severity"), Column("Check"),
         Column("What"), Column("Expected"), Column("Fix")),
        Rows(worst_first, cells), "Find findings by check, batch, words", "Nothing found.",
    )  # fmt: skip


def view_key(view: object, *with_what: str) -> str:
    """Return the key of a page: of all that its view says, and of what else it is made with."""
    said = msgspec.json.encode(view, enc_hook=_said)
    return key_of({"view": digest(said), "with": json.dumps(with_what)})


def _said(part: object) -> str:
    """Return what stands for a part of a view that is no plain value. TypeError for another."""
    if isinstance(part, Rows):
        return part.digest()
    if isinstance(part, str):
        # Text that is HTML already is of a class of its own.
        return str(part)
    raise TypeError(f"{type(part).__name__} in a view")
