"""The table of documents: what there is, for which batches, and how each is made.

A new document is one view model, one template folder and one line here. Each is made as PDF, for
paper and for keeping, and as one HTML file for a screen, from the same view and templates.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.report.make import Draft, View, pdf_draft, screen_draft

PDF, HTML = "pdf", "html"
FORMS = (PDF, HTML)
"""Forms that a document is made in; each is the ending of its file."""


class Document(Struct, frozen=True):
    """One document of a batch.

    ``folder`` and ``suffix`` make its file name below the output folder, ``template`` is its
    folder of templates. ``view`` returns what it says, from a batch, a paper and a copy number.
    An ``archival`` one has the record's source inside and is made once the batch is brewed. A
    ``written`` one can be written on as a page, with what the function returns, as JSON.
    """

    name: str
    title: str
    folder: str
    suffix: str
    template: str
    view: Callable[[Assessment, str, int], View]
    archival: bool = False
    written: Callable[[Assessment, View], str] | None = None

    def file(self, batch: str, form: str = PDF) -> str:
        """Return the file below the output folder, with forward slashes."""
        return f"{self.folder}/{batch}{self.suffix}.{form}"

    def is_made(self, brewed: bool) -> bool:
        """Whether the batch has come so far that the document is wanted."""
        return brewed or not self.archival

    def applies(self, batch: Assessment) -> bool:
        """Whether it is made of this batch, as far as it has come."""
        return self.is_made(batch.record.brew_day is not None)

    def draft(self, batch: Assessment, view: View, paper: str, form: str = PDF) -> Draft:
        """Return a view of the document set in one of the ``FORMS``. ValueError for another."""
        if form not in FORMS:
            raise ValueError(f"no form: {form}; one of {', '.join(FORMS)}")
        if form == HTML:
            written = self.written(batch, view) if self.written is not None else ""
            return screen_draft(batch, self.template, view, paper, written)
        return pdf_draft(batch, self.template, view, paper, self.archival)

    def make(self, batch: Assessment, paper: str, copy: int, form: str = PDF) -> bytes:
        """Return the bytes of the document in one of the ``FORMS``. ValueError for another."""
        return self.draft(batch, self.view(batch, paper, copy), paper, form).make()


def _weigh_out(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.weigh_out import weigh_out_sheet

    return weigh_out_sheet(batch, paper, copy)


def _sheet(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.sheet import brew_day_sheet

    return brew_day_sheet(batch, paper, copy)


def _written(batch: Assessment, view: View) -> str:
    from reportgen.report.written import as_json, written

    return as_json(written(batch, view.identity))


def _cellar_written(batch: Assessment, view: View) -> str:
    from reportgen.report.written import as_json
    from reportgen.report.written_later import cellar_written

    return as_json(cellar_written(batch, view.identity))


def _packaging_written(batch: Assessment, view: View) -> str:
    from reportgen.report.written import as_json
    from reportgen.report.written_later import packaging_written

    return as_json(packaging_written(batch, view.identity))


def _tasting_written(batch: Assessment, view: View) -> str:
    from reportgen.report.written import as_json
    from reportgen.report.written_later import tasting_written

    return as_json(tasting_written(batch, view.identity))


def _cellar(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.cellar import cellar_sheet

    return cellar_sheet(batch, paper, copy)


def _packaging(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.packaging import packaging_sheet

    return packaging_sheet(batch, paper, copy)


def _tasting(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.tasting import tasting_sheet

    return tasting_sheet(batch, paper, copy)


def _record(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.checks.base import with_findings
    from reportgen.report.batch_record import batch_record

    # The record says what the checks say; they are run here, so that it does wherever it is made.
    # What only git knows is left to ``check`` and the list of changes: the same record must give
    # the same bytes in a copy without its history.
    return batch_record(with_findings(batch), paper)


def _working(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.working_paper import working_paper

    return working_paper(batch, paper)


def _card(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.card import card

    return card(batch, paper)


def _lesson(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.lesson import lesson

    return lesson(batch, paper, copy)


def _changes(batch: Assessment, paper: str, copy: int) -> View:
    from reportgen.report.change_list import change_list

    return change_list(batch, paper)


SHEETS = (
    Document(
        "weigh-out", "Weigh-out sheet", "sheets", "-weigh-out", "weigh_out_sheet", _weigh_out,
        written=_written,
    ),
    Document(
        "brew-day", "Brew-day sheet", "sheets", "-brew-day", "brew_day_sheet", _sheet,
        written=_written,
    ),
    Document(
        "cellar", "Cellar sheet", "sheets", "-cellar", "cellar_sheet", _cellar,
        written=_cellar_written,
    ),
    Document(
        "packaging", "Packaging sheet", "sheets", "-packaging", "packaging_sheet", _packaging,
        written=_packaging_written,
    ),
    Document(
        "tasting", "Tasting sheet", "sheets", "-tasting", "tasting_sheet", _tasting,
        written=_tasting_written,
    ),
)
"""The working sheets, printed before the work."""

RECORD = Document("record", "Batch record", "records", "", "batch_record", _record, True)
"""The permanent record."""

WORKING = Document(
    "working", "Working", "records", "-working", "working", _working, True
)
"""Every computed number of the record, to be derived again; kept with it."""

CHANGES = Document(
    "changes", "Change list", "records", "-changes", "change_list", _changes
)
"""What was changed in the record, from git; made only when asked for, see its module."""

CARD = Document("card", "Card", "cards", "-card", "card", _card)
"""For those who drink the beer; made only when asked for."""

LESSON = Document("lesson", "Lesson sheet", "sheets", "-lesson", "lesson_sheet", _lesson)
"""For a class or a friend at the kettle; made only when asked for."""

ALL = (*SHEETS, RECORD, WORKING)

ASKED_FOR = (CARD, LESSON)
"""Documents that a build leaves out."""
