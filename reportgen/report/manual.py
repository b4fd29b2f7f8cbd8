"""The manual: every calculation, check, field, unit and figure there is, as web pages and one PDF.

Nothing in it is written twice: it is read from the docstrings, the case files, the schemas and the
tables that the tool itself works by. The same version gives the same bytes.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise
from pathlib import Path

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from reportgen import __version__
from reportgen.report.evidence import MARKS, check_values
from reportgen.report.manual_documents import DocumentPicture, documents
from reportgen.report.manual_guide import GLOSSARY, GUIDE, MORE, GuideProse, Verb, prose_page, verbs
from reportgen.report.manual_lists import (
    CheckGroup,
    FigureStage,
    UnitKind,
    check_groups,
    figure_stages,
    unit_kinds,
)
from reportgen.report.manual_methods import Topic, TopicGroup, topic_groups
from reportgen.report.manual_record import RecordFile, record_files
from reportgen.report.manual_search import index_of
from reportgen.report.manual_text import ManualLink
from reportgen.science.method import METHODS

TITLE = "Manual of reportgen"
FOLDER = "manual"
"""Name of the template folder, and of the folder in the output."""

PDF = "manual.pdf"
DATED = datetime.date(2026, 1, 1)
"""Stands in the PDF as its day of making: the year of this edition. A clock would make every run
differ."""

Body = (
    tuple[ManualLink, ...]
    | tuple[TopicGroup, ...]
    | Topic
    | tuple[CheckGroup, ...]
    | CheckGroup
    | tuple[RecordFile, ...]
    | RecordFile
    | tuple[UnitKind, ...]
    | tuple[FigureStage, ...]
    | tuple[DocumentPicture, ...]
    | tuple[Verb, ...]
    | GuideProse
    | Markup
)


class ManualPage(Struct, frozen=True):
    """One page of the manual; in the PDF a chapter or a section of one.

    ``name`` is the file name without its ending and the anchor in the PDF, ``kind`` the template
    that shows ``body``. ``part`` is the name of the chapter's own page; a page that is a chapter
    has its own name there.
    """

    name: str
    title: str
    lead: str
    kind: str
    body: Body
    part: str
    links: tuple[ManualLink, ...] = ()


class ManualView(Struct, frozen=True, dict=True):
    """What the templates are handed: the pages to show, and the way to all others.

    ``whole`` is true for the PDF, where all pages are in one document and every link stays in it.
    """

    title: str
    version: str
    whole: bool
    pages: tuple[ManualPage, ...]
    chapters: tuple[ManualLink, ...]
    counts: tuple[tuple[str, int], ...]
    marks: tuple[tuple[str, str], ...]
    before: ManualLink | None = None
    after: ManualLink | None = None

    @cached_property
    def names(self) -> frozenset[str]:
        """The names of the pages that are shown."""
        return frozenset(page.name for page in self.pages)

    @property
    def is_short(self) -> bool:
        """Whether it is a book without the pages that are looked up."""
        return self.whole and not any(name.startswith(LOOKED_UP) for name in self.names)

    def has(self, page: str) -> bool:
        """Whether a link to a page leads to it: on the web always, in the book where it is in."""
        return not self.whole or page in self.names

    def address(self, page: str, anchor: str) -> str:
        """Return what a link leads to: a file on the web, a place in the same document in the book.

        In place of a page that is not in the book stands its chapter.
        """
        if not self.whole:
            return f"{page}.html#{anchor}" if anchor else f"{page}.html"
        return f"#{anchor or page}" if self.has(page) else f"#{chapter_of(page)}"


def chapter_of(page: str) -> str:
    """Return the chapter that a page belongs to, by its name."""
    return page.partition("-")[0] if page.startswith(LOOKED_UP) else page


LOOKED_UP = ("methods-", "checks-")
"""Beginnings of the names of pages that are looked up, not read through: more than half of the
book, and printed when asked for."""


MARK_WORDS = {
    "published": "found in print, by the source given",
    "reference library": "computed once by a general-purpose library",
    "common practice": "a rule of the trade, with no source to look up",
    "from memory": "known to be printed there, not looked up again",
}
"""What each mark on a check value means."""


def pages() -> tuple[ManualPage, ...]:
    """Return every page of the manual, in reading order, without the front page."""
    made = [_written(*words) for words in GUIDE]
    made.insert(1, _documents())
    made.insert(2, _commands())
    groups = topic_groups()
    topics = [topic for group in groups for topic in group.topics]
    made.append(
        ManualPage(
            "methods",
            "The calculations",
            "Every calculation with its formula, its inputs and the range they are taken in, its "
            "uncertainty and source, and the reference values it was checked against, each with "
            "its mark. An input outside its range is refused; one outside the trusted range is "
            "computed, and marked as an extrapolation.",
            "topics",
            groups,
            "methods",
        )
    )
    made += [
        ManualPage(t.page, t.title, t.lead, "topic", t, "methods", t.links) for t in topics
    ]
    checks = check_groups()
    made.append(
        ManualPage(
            "checks",
            "The checks",
            "What a record is looked over for, by the stage of the work. A check can be "
            "silenced in one record, with a reason, under review.silenced. The examples are laid "
            "over a sound record; {} stands for that record as it is. At the end stand the rules "
            "of the loader, which come before all checks and cannot be silenced.",
            "checks",
            checks,
            "checks",
        )
    )
    made += [
        ManualPage(group.page, group.title, "", "check-group", group, "checks", group.links)
        for group in checks
    ]
    files = record_files()
    made.append(
        ManualPage(
            "record",
            "The files",
            "The three kinds of file, field by field. Every value is written as it was read, with "
            "its unit.",
            "files",
            files,
            "record",
        )
    )
    made += [
        ManualPage(f.page, f.title, f.lead, "file", f, "record", f.links) for f in files
    ]
    kinds = unit_kinds()
    made.append(
        ManualPage(
            "units",
            "The units",
            "Units that are read in any file, in any mixture. The number stands first; a space "
            "before the unit is optional. A bare gal, qt, pt, fl oz or bbl is read only where the "
            "brewery file says which gallon is meant.",
            "units",
            kinds,
            "units",
            tuple(ManualLink(kind.title, "units", kind.anchor) for kind in kinds),
        )
    )
    made.append(
        ManualPage(
            "figures",
            "The figures",
            "Every number that a batch is expected to show, in the order of the work. The "
            "tolerance is the one that holds when neither the plan nor brewery.yaml gives another: "
            "common practice, without a source. It lies around the expected value.",
            "figures",
            figure_stages(),
            "figures",
        )
    )
    made += [_written(*words) for words in MORE]
    made.append(_written(*GLOSSARY))
    return tuple(made)


def _written(name: str, title: str, lead: str) -> ManualPage:
    body = prose_page(name)
    return ManualPage(name, title, lead, "prose", body, name, body.links)


def _documents() -> ManualPage:
    made = documents()
    return ManualPage(
        "documents",
        "The documents",
        "What is printed for a batch, in the order of the work. The pictures were made from the "
        "demo archive when this manual was.",
        "documents",
        made,
        "documents",
        tuple(ManualLink(document.title, "documents", document.anchor) for document in made),
    )


def _commands() -> ManualPage:
    made = verbs()
    return ManualPage(
        "commands",
        "The commands",
        "Without a path, a command uses the current archive: the nearest folder at or above "
        "with a brewery.yaml. Exit code 0 clean, 1 findings, 2 usage error, 3 internal failure.",
        "verbs",
        made,
        "commands",
        tuple(ManualLink(verb.name, "commands", verb.anchor, verb.line) for verb in made),
    )


def _chapters(made: Sequence[ManualPage]) -> tuple[ManualLink, ...]:
    """Return the chapters by their short titles."""
    return tuple(
        ManualLink(page.title.removeprefix("The ").capitalize(), page.name)
        for page in made
        if page.part == page.name
    )


def _counts(made: Sequence[ManualPage]) -> tuple[tuple[str, int], ...]:
    checks = sum(
        entry.source is not None
        for p in made if isinstance(p.body, CheckGroup) for entry in p.body.entries
    )  # fmt: skip
    fields = sum(
        len(section.fields)
        for p in made
        if isinstance(p.body, RecordFile)
        for section in p.body.sections
    )
    return (
        ("calculations", len(METHODS)),
        (f"reference values ({_by_mark()})", sum(len(v) for v in check_values().values())),
        ("checks", checks),
        ("fields", fields),
    )


def _by_mark() -> str:
    """Return the check values counted by how far their source can be looked up."""
    marks = Counter(value.mark for values in check_values().values() for value in values)
    return ", ".join(f"{marks[mark]} {mark}" for mark in MARKS if marks[mark])


def _front(made: Sequence[ManualPage]) -> ManualPage:
    return ManualPage(
        "index",
        TITLE,
        "One text file a batch, from plan to glass: what the tool computes, what it checks, what "
        "the files hold.",
        "contents",
        tuple(
            ManualLink(page.title, page.name, "", "" if page.part == page.name else "inner")
            for page in made
        ),
        "index",
    )


def _view(made: Sequence[ManualPage], whole: bool, shown: Sequence[ManualPage]) -> ManualView:
    return ManualView(
        TITLE,
        __version__,
        whole,
        tuple(shown),
        _chapters(made),
        _counts(made),
        tuple((mark, MARK_WORDS[mark]) for mark in MARKS),
    )


def page_views() -> dict[str, ManualView]:
    """Return the view of every web page by its file name, the front page first."""
    made = pages()
    everything = (_front(made), *made)
    links = [ManualLink(page.title, page.name) for page in everything]
    befores = {after.page: before for before, after in pairwise(links)}
    afters = {before.page: after for before, after in pairwise(links)}
    common = _view(made, False, ())
    return {
        f"{page.name}.html": ManualView(
            common.title,
            common.version,
            False,
            (page,),
            common.chapters,
            common.counts,
            common.marks,
            befores.get(page.name),
            afters.get(page.name),
        )
        for page in everything
    }


def book_view(whole: bool = True) -> ManualView:
    """Return the view of the manual in one document.

    ``whole`` takes in the pages that are looked up.
    """
    made = pages()
    read = [page for page in made if whole or not page.name.startswith(LOOKED_UP)]
    return _view(made, True, (_front(read), *read))


SEARCH = "search"
"""Name of the page that the others are searched from. It is on the web only."""


def manual_html() -> dict[str, str]:
    """Return every web page of the manual by its file name; the search page knows all others."""
    from reportgen.report.render import html

    views = page_views()
    made = {name: html(FOLDER, view, "A4") for name, view in views.items()}
    titles = {name: view.pages[0].title for name, view in views.items()}
    first = views["index.html"]
    lead = "Every page, field, check, command and calculation of this manual, by its words."
    page = ManualPage(
        SEARCH, "Search", lead, SEARCH, index_of(made, titles), SEARCH
    )  # fmt: skip
    made[f"{SEARCH}.html"] = html(FOLDER, replace(first, pages=(page,), after=None), "A4")
    return made


def manual_pdf(paper: str, folder: Path | None = None, view: ManualView | None = None) -> bytes:
    """Return the manual as one tagged PDF on A4 or Letter; the same version gives the same bytes.

    ``folder`` holds the pictures; without it their place is left empty. ``view`` is what is
    printed, else what is read through.
    """
    from reportgen.report.render import html, pdf

    return pdf(
        html(FOLDER, book_view(False) if view is None else view, paper),
        title=f"{TITLE} {__version__}",
        identifier_source=f"manual {__version__} {paper}".encode(),
        date=DATED,
        archive=folder,
    )
