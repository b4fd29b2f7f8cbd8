"""The table of documents: what there is, for which batches, and how each is made.

A new document is one view model, one template folder and one line here. Each is made as PDF, for
paper and for keeping, and as one HTML file for a screen, from the same view and templates.
"""

from __future__ import annotations

import functools
import importlib
from collections.abc import Callable
from typing import Any

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.report.make import Draft, View, as_json, pdf_draft, screen_draft
from reportgen.report.parts import Identity

PDF, HTML = "pdf", "html"
FORMS = (PDF, HTML)
"""Forms that a document is made in; each is the ending of its file."""


class Document(Struct, frozen=True):
    """One document of a batch.

    ``folder`` and ``suffix`` make its file name below the output folder, ``template`` is its
    folder of templates. ``says`` returns its view of a batch, on a paper and, where its copies
    are ``numbered``, of a copy number. An ``archival`` one has the record's source inside and is
    made once the batch is brewed. One with ``written`` can be written on as a page, with the data
    that this function returns. ``when`` it is used and what it is ``about``, for the manual.
    """

    name: str
    title: str
    folder: str
    suffix: str
    template: str
    says: Callable[..., View]
    archival: bool = False
    numbered: bool = False
    written: Callable[[Assessment, Identity], dict[str, Any]] | None = None
    when: str = ""
    about: str = ""

    def file(self, batch: str, form: str = PDF) -> str:
        """Return the file below the output folder, with forward slashes."""
        return f"{self.folder}/{batch}{self.suffix}.{form}"

    def is_made(self, brewed: bool) -> bool:
        """Whether the batch has come so far that the document is wanted."""
        return brewed or not self.archival

    def applies(self, batch: Assessment) -> bool:
        """Whether it is made of this batch, as far as it has come."""
        return self.is_made(batch.record.brew_day is not None)

    def view(self, batch: Assessment, paper: str, copy: int) -> View:
        """Return what it says of a batch, on a paper."""
        return self.says(batch, paper, copy) if self.numbered else self.says(batch, paper)

    def data(self, batch: Assessment, view: View) -> str:
        """Return what a page that can be written on goes by, as JSON; empty for any other."""
        return "" if self.written is None else as_json(self.written(batch, view.identity))

    def draft(self, batch: Assessment, view: View, paper: str, form: str = PDF) -> Draft:
        """Return a view of the document set in one of the ``FORMS``. ValueError for another."""
        if form not in FORMS:
            raise ValueError(f"no form: {form}; one of {', '.join(FORMS)}")
        if form == HTML:
            return screen_draft(batch, self.template, view, paper, self.data(batch, view))
        return pdf_draft(batch, self.template, view, paper, self.archival)

    def make(self, batch: Assessment, paper: str, copy: int, form: str = PDF) -> bytes:
        """Return the bytes of the document in one of the ``FORMS``. ValueError for another."""
        return self.draft(batch, self.view(batch, paper, copy), paper, form).make()


def _of(module: str, function: str) -> Callable[..., Any]:
    """Return a function of a module below ``report/``, imported when it is first called."""

    def call(*given: Any) -> Any:
        return getattr(importlib.import_module(f"reportgen.report.{module}"), function)(*given)

    return call


def _record(batch: Assessment, paper: str) -> View:
    from reportgen.checks.base import with_findings
    from reportgen.report.batch_record import batch_record

    # The record says what the checks say; they are run here, so that it does wherever it is made.
    # What only git knows is left to ``check`` and the list of changes: the same record must give
    # the same bytes in a copy without its history.
    return batch_record(with_findings(batch), paper)


def _sheet(
    name: str, title: str, module: str, function: str, written: Any, when: str, about: str
) -> Document:
    return Document(
        name, title, "sheets", f"-{name}", function, _of(module, function), numbered=True,
        written=written, when=when, about=about,
    )  # fmt: skip


_BREW_DAY = _of("written", "written")
_later = functools.partial(_of, "written_later")

SHEETS = (
    _sheet(
        "weigh-out", "Weigh-out sheet", "weigh_out", "weigh_out_sheet", _BREW_DAY,
        "Before the brew day, at the scales",
        "What the beer is to be, the cautions, the instruments; malts, salts, acids, hops and "
        "finings with a blank for what was weighed and its lot; the hold point before heat.",
    ),
    _sheet(
        "brew-day", "Brew-day sheet", "sheet", "brew_day_sheet", _BREW_DAY,
        "On the brew day, at the kettle",
        "Four sides: mash, run-off, boil, cool and pitch. One line a reading: expected value, the "
        "range in which it is fine for your instrument, a blank, and beside the step what to do "
        "if it is not.",
    ),
    _sheet(
        "cellar", "Cellar sheet", "cellar", "cellar_sheet", _later("cellar_written"),
        "From pitching to packaging",
        "A row a day with the expected band of gravity and temperature, milestones, and what to "
        "do if fermentation is slow or hot.",
    ),
    _sheet(
        "packaging", "Packaging sheet", "packaging", "packaging_sheet", _later("packaging_written"),
        "On the day of packaging",
        "The check that gravity is steady, priming or keg pressure by beer temperature, counts, "
        "the label text, cautions.",
    ),
    _sheet(
        "tasting", "Tasting sheet", "tasting", "tasting_sheet", _later("tasting_written"),
        "Weeks later",
        "A side for up to six glasses: strength of each attribute, another glass, own words. With "
        "`sheet --tasting` codes and serving orders for who pours, and a triangle, a pair or a "
        "ranking.",
    ),
)  # fmt: skip
"""The working sheets, printed before the work."""

RECORD = Document(
    "record", "Batch record", "records", "", "batch_record", _record, archival=True,
    when="To keep",
    about="Page one answers what is asked years later. Then deviations by cause, from plan to "
        "glass, plan against actual, balances, the course of the batch, lots, tasting, sign-off. "
        "PDF/A-3 with its YAML inside.",
)  # fmt: skip
"""The permanent record."""

WORKING = Document(
    "working", "Working", "records", "-working", "working", _of("working_paper", "working_paper"),
    archival=True,
    when="To keep with the record",
    about="Formula, numbers put in, result and source of every number. The lines are numbered, and "
        "the record names them. PDF/A-3 with the YAML inside.",
)  # fmt: skip
"""Every computed number of the record, to be derived again; kept with it."""

CHANGES = Document(
    "changes", "Change list", "records", "-changes", "change_list",
    _of("change_list", "change_list"),
)  # fmt: skip
"""What was changed in the record, from git; made only when asked for, see its module."""

CARD = Document("card", "Card", "cards", "-card", "card", _of("card", "card"))
"""For those who drink the beer; made only when asked for."""

LESSON = Document(
    "lesson", "Lesson sheet", "sheets", "-lesson", "lesson_sheet", _of("lesson", "lesson"),
    numbered=True,
)  # fmt: skip
"""For a class or a friend at the kettle; made only when asked for."""

ALL = (*SHEETS, RECORD, WORKING)

ASKED_FOR = (CARD, LESSON)
"""Documents that a build leaves out."""
