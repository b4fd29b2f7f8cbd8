"""The ledger's pages of yeast and of lots."""

from __future__ import annotations

from collections.abc import Collection

from msgspec import Struct
from msgspec.structs import replace

from reportgen.archive.links import LotStory, YeastLink
from reportgen.archive.ties import LotInBatch, LotName
from reportgen.archive.trace import nearest
from reportgen.record.model.stock import TABLES
from reportgen.record.printed import DASH, NARROW
from reportgen.report.ledger import (
    Cell,
    Column,
    Frame,
    LedgerData,
    Link,
    Rows,
    Table,
    batch_href,
    frame_of,
    name_of,
    plural,
)
from reportgen.report.yeast_character import character

KIND_WORDS = {**TABLES, "": "not in stock.yaml"}


class TraceStep(Struct, frozen=True):
    """One batch in a line of descent, and those its harvest went on to."""

    batch: Link
    words: str
    children: tuple[TraceStep, ...]


class YeastGroup(Struct, frozen=True):
    """One yeast: what it is, what it is like here, its lines of descent, its batches."""

    name: str
    facts: str
    character: tuple[str, ...]
    lines: tuple[TraceStep, ...]
    table: Table


class YeastPage(Struct, frozen=True):
    """All yeasts."""

    frame: Frame
    lead: str
    problems: tuple[str, ...]
    groups: tuple[YeastGroup, ...]


class LotsPage(Struct, frozen=True):
    """All lots and where they went."""

    frame: Frame
    lead: str
    lots: Table


def living_words(link: YeastLink) -> str:
    """Return the share of cells that may live, as a range; empty when it cannot be told."""
    if link.living is None:
        return ""
    low, high = link.living.low * 100, link.living.high * 100
    return f"{low:.0f}{DASH}{high:.0f}{NARROW}%"


def origin_words(link: YeastLink) -> str:
    """Return where the yeast of a batch came from."""
    if link.parent:
        return f"from {link.parent}"
    if link.lot:
        return f"new, lot {link.lot}"
    return "from a batch not written" if link.generation else "new, lot not written"


def age_words(link: YeastLink) -> str:
    """Return the age of the yeast when it was pitched."""
    if link.age is None:
        return ""
    if link.age < 0:
        return "before it was harvested"
    words = plural(link.age, "day")
    return words if link.parent else f"{words} in the brewery"


def harvest_words(link: YeastLink) -> str:
    """Return the harvest from a batch."""
    if link.harvest is None:
        return ""
    parts = [link.harvest.at.date().isoformat()]
    if link.harvest.amount:
        parts.append(link.harvest.amount)
    if link.harvest.viability:
        parts.append(f"{link.harvest.viability} viability")
    return ", ".join(parts)


def generation_words(link: YeastLink) -> str:
    """Return the generation as written, else as it follows; both where they differ."""
    if link.generation is None:
        return "not known" if link.counted is None else str(link.counted)
    if link.counted is not None and link.counted != link.generation:
        return f"{link.generation} written, {link.counted} counted"
    return str(link.generation)


def step_words(link: YeastLink, name: str) -> str:
    """Return a batch of a line of descent in one line."""
    parts = [name, f"generation {generation_words(link)}", origin_words(link)]
    age, living = age_words(link), living_words(link)
    if age:
        parts.append(f"{age} old" if link.parent and (link.age or 0) >= 0 else age)
    if living:
        parts.append(f"{living} viability when pitched")
    return ", ".join(parts)


def line_of(
    data: LedgerData, batch: str, root: str = "", seen: tuple[str, ...] = ()
) -> TraceStep:
    """Return a batch and all that descends from it; a circle is cut where it closes."""
    link = data.links.yeast[batch]
    row = data.rows.get(batch)
    name = row.name if row is not None else ""
    children = () if batch in seen else tuple(
        line_of(data, child, root, (*seen, batch))
        for child in data.links.children.get(batch, ())
        if child in data.links.yeast
    )
    words = "the circle closes here" if batch in seen else step_words(link, name)
    return TraceStep(Link(batch_href(batch, root), batch), words, children)


def yeast_page(data: LedgerData) -> YeastPage:
    """Return the page of yeasts."""
    used = _used(data)
    idle = sorted(set(data.stock.yeasts) - set(used))
    lead = (
        f"{plural(len(used), 'yeast')} in use. Viability is a range from published losses of "
        "stored yeast: count and stain when it matters."
    )
    if idle:
        listed = ", ".join(name_of(data.stock.yeasts, y) for y in idle)
        lead += f" Never pitched: {listed}."
    return YeastPage(
        frame_of(data, "Yeast", "yeast.html"),
        lead,
        data.links.yeast_problems(),
        yeast_groups(data),
    )


def yeast_groups(data: LedgerData) -> tuple[YeastGroup, ...]:
    """Return every yeast that is in use, with its lines of descent and its batches."""
    return tuple(_group(data, yeast) for yeast in _used(data))


def _used(data: LedgerData) -> list[str]:
    return sorted({link.yeast for link in data.links.yeast.values()})


def _group(data: LedgerData, yeast: str) -> YeastGroup:
    mine = {b: link for b, link in data.links.yeast.items() if link.yeast == yeast}
    starts = [b for b, link in mine.items() if link.parent not in mine]
    starts += [c[0] for c in data.links.circles if c[0] in mine]
    item = data.stock.yeasts.get(yeast)
    facts = ""
    if item is not None:
        words = [f"{item.ferments}, {item.form or 'slurry'}",
                 f"{item.apparent_attenuation.text} apparent attenuation stated"]
        if item.generations is not None:
            most = round(item.generations.value)
            words.append(
                f"pitched again at most {plural(most, 'time')}" if most else "never pitched again"
            )
        facts = "; ".join(words) + "."

    def cells(batch: str) -> tuple[Cell, ...]:
        link, row = mine[batch], data.rows.get(batch)
        return (
            Cell(batch, href=batch_href(batch)),
            Cell(row.name if row is not None else ""),
            Cell(link.pitched.isoformat() if link.pitched else "not yet",
                 soft=link.pitched is None),
            Cell(generation_words(link)),
            Cell(origin_words(link)),
            Cell(age_words(link), sort="" if link.age is None else str(link.age)),
            Cell(living_words(link)),
            Cell(_attenuation(data, batch)),
            Cell(harvest_words(link)),
        )

    columns = (
        Column("Batch"), Column("Beer"), Column("Pitched", keep=True), Column("Generation", True),
        Column("Came", keep=True), Column("Age", True), Column("Viability", True),
        Column("Attenuation, %", True), Column("Harvested"),
    )  # fmt: skip
    name = name_of(data.stock.yeasts, yeast)
    return YeastGroup(
        name,
        facts,
        character([data.rows[b] for b in mine if b in data.rows]),
        tuple(line_of(data, b) for b in starts),
        Table(f"yeast-{yeast}", f"Batches with {name}", columns, Rows(list(mine), cells)),
    )


def _attenuation(data: LedgerData, batch: str) -> str:
    row = data.rows.get(batch)
    figure = row.figure("apparent_attenuation") if row is not None else None
    if figure is None or figure.actual is None:
        return ""
    return data.units.number(figure.actual, "fraction", 3)


def use_note(use: LotInBatch) -> str:
    """Return how a batch used a lot: amounts as written."""
    if use.weighed:
        return " + ".join(use.weighed)
    amount = " + ".join(use.planned)
    if use.why_not:
        return f"planned, {use.why_not}"
    return f"planned {amount}".strip()


MOST_NAMED = 24
"""Other batches that the page of one batch names for each thing in common; the nearest to it.

All of them stand on the pages of lots and of batches; named on every page they would fill it.
"""


def more_words(count: int) -> str:
    """Return how many batches are not named; empty when all are."""
    return f"and {count - MOST_NAMED} more" if count > MOST_NAMED else ""


def lot_row(
    data: LedgerData, story: LotStory, root: str = "", around: str = ""
) -> tuple[Cell, ...]:
    """Return one lot as a row: what it is, where it came from, where it went.

    ``around`` is the batch on whose page it stands, which names only the uses nearest to it.
    """
    name, known = story.name, story.known
    table = getattr(data.stock, name.kind) if name.kind else {}
    uses = story.uses
    if around and len(uses) > MOST_NAMED:
        near = set(nearest([use.batch for use in uses], around, MOST_NAMED))
        uses = tuple(use for use in uses if use.batch in near)
    links = tuple(Link(batch_href(use.batch, root), use.batch, use_note(use)) for use in uses)
    if len(uses) < len(story.uses):
        links = (*links, Link(f"{root}lots.html", more_words(len(story.uses))))
    return (
        Cell(name.lot),
        Cell(name_of(table, name.item)),
        Cell(KIND_WORDS[name.kind]),
        Cell(str(known.received or "") if known else ""),
        Cell(str(known.best_before or "") if known else ""),
        Cell(str(known.supplier or "") if known else "not in stock.yaml", strong=known is None),
        Cell("" if links else "not used yet", links=links, soft=not links,
             sort=f"{len(links):04d}"),
    )


LOT_COLUMNS = (
    Column("Lot"), Column("Of"), Column("Kind"), Column("Received", keep=True),
    Column("Best before", keep=True),
    Column("Supplier"), Column("Went into"),
)  # fmt: skip


def lots_page(data: LedgerData) -> LotsPage:
    """Return the page of lots."""
    stories = tuple(data.links.lots.values())
    idle = sum(1 for story in stories if not story.uses)
    missing = sum(1 for story in stories if story.known is None)
    lead = f"{plural(len(stories), 'lot')}, {idle} not used yet"
    lead += f", {missing} not in stock.yaml." if missing else "."
    return LotsPage(
        frame_of(data, "Lots", "lots.html"),
        lead,
        lots_table(data),
    )


def lots_table(
    data: LedgerData,
    only: Collection[LotName] | None = None,
    batches: Collection[str] | None = None,
) -> Table:
    """Return the table of lots: all of them, or some with only some of the batches they went to."""
    chosen = [name for name in data.links.lots if only is None or name in only]

    def cells(name: LotName) -> tuple[Cell, ...]:
        story = data.links.lots[name]
        if batches is not None:
            uses = tuple(use for use in story.uses if use.batch in batches)
            story = replace(story, uses=uses)
        return lot_row(data, story)

    return Table(
        "lots", "Lots and where they went", LOT_COLUMNS, Rows(chosen, cells),
        "Find lots by number, item, supplier, batch",
    )  # fmt: skip
