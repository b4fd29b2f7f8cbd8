"""The table of documents: what there is, for which batches, and how each is made.

A new document is one view model, one template folder and one line here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from reportgen.assess import Assessment


@dataclass(frozen=True)
class Document:
    """One document of a batch.

    ``folder`` and ``suffix`` make its file name below the output folder. ``applies`` says whether
    the batch has come so far that it is wanted. ``make`` returns the bytes of the PDF for a batch,
    a paper and a copy number.
    """

    name: str
    title: str
    folder: str
    suffix: str
    applies: Callable[[Assessment], bool]
    make: Callable[[Assessment, str, int], bytes]

    def file(self, batch: str) -> str:
        """Return the file below the output folder, with forward slashes."""
        return f"{self.folder}/{batch}{self.suffix}.pdf"


def _always(batch: Assessment) -> bool:
    return True


def _brewed(batch: Assessment) -> bool:
    return batch.record.brew_day is not None


def _sheet(batch: Assessment, paper: str, copy: int) -> bytes:
    from reportgen.report.sheet import brew_day_sheet_pdf

    return brew_day_sheet_pdf(batch, paper, copy)


def _cellar(batch: Assessment, paper: str, copy: int) -> bytes:
    from reportgen.report.cellar import cellar_sheet_pdf

    return cellar_sheet_pdf(batch, paper, copy)


def _packing(batch: Assessment, paper: str, copy: int) -> bytes:
    from reportgen.report.packing import packing_sheet_pdf

    return packing_sheet_pdf(batch, paper, copy)


def _tasting(batch: Assessment, paper: str, copy: int) -> bytes:
    from reportgen.report.tasting import tasting_sheet_pdf

    return tasting_sheet_pdf(batch, paper, copy)


def _record(batch: Assessment, paper: str, copy: int) -> bytes:
    from reportgen.report.batch_record import batch_record_pdf

    return batch_record_pdf(batch, paper)


SHEETS = (
    Document("brew-day", "Brew-day sheet", "sheets", "-brew-day", _always, _sheet),
    Document("cellar", "Cellar sheet", "sheets", "-cellar", _always, _cellar),
    Document("packing", "Packing sheet", "sheets", "-packing", _always, _packing),
    Document("tasting", "Tasting sheet", "sheets", "-tasting", _always, _tasting),
)
"""The working sheets, printed before the work."""

RECORD = Document("record", "Batch record", "records", "", _brewed, _record)
"""The permanent record."""

ALL = (*SHEETS, RECORD)
