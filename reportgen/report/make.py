"""From a view of a document to its PDF or its page for a screen: what all documents share."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol

from msgspec import Struct

from reportgen.assessment.assess import Assessment
from reportgen.record.each_value import last_day
from reportgen.record.fields import Entry
from reportgen.report.parts import Identity


class View(Protocol):
    """Every view has an identity."""

    @property
    def identity(self) -> Identity:
        """What stands at the head and foot of every page."""
        ...


class Draft(Struct, frozen=True):
    """A document whose text is set, before the long work of laying out its pages.

    ``content`` is the SHA-256 of all that the file is made from: the same makes the same bytes
    with the same version of the tool. ``make`` returns them.
    """

    content: str
    make: Callable[[], bytes]


NO_DAY = datetime.date(2000, 1, 1)
"""Date of a document whose record has no date at all."""


def date_of(part: Entry) -> datetime.date:
    """Return the last day that a record, or a part of it, itself knows of; it dates the document.

    The clock never does, so that the same record gives the same bytes on any day.
    """
    return last_day(part) or NO_DAY


def pdf_draft(
    assessment: Assessment, name: str, view: View, paper: str, archival: bool = False
) -> Draft:
    """Return a document to be made as PDF; an archival one has the record's source attached."""
    from reportgen.report.render import html

    source = assessment.batch.source
    root = Path(assessment.archive.root)
    text = html(name, view, paper, root)
    identity = view.identity
    title = f"{identity.document} {identity.batch}: {identity.name}"
    # A sheet stays the same, byte for byte, when something is written into the record that does
    # not stand on it; the archival document has the whole record inside.
    data = source.data if archival else b""
    date = date_of(assessment.record if archival else assessment.record.plan)

    def make() -> bytes:
        from reportgen.report.pdf import pdf

        return pdf(
            text,
            title=title,
            identifier_source=data,
            date=date,
            attachment=(Path(source.file).name, data) if archival else None,
            archival=archival,
            archive=root,
        )

    content = _digest(text, title, date.isoformat(), source.file if archival else "", data)
    return Draft(content, make)


def as_json(data: dict[str, Any]) -> str:
    """Return the data of a page as JSON that may stand within a ``script`` element."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def screen_draft(
    assessment: Assessment, name: str, view: View, paper: str, written: str = ""
) -> Draft:
    """Return a document as one HTML file that needs nothing else: style and drawings are inside.

    ``written`` is the data of a page that can be written on, as JSON; empty for one that cannot.
    """
    from reportgen.report.render import SCREEN, html

    text = html(name, view, paper, Path(assessment.archive.root), SCREEN, written)
    data = (text.rstrip("\n") + "\n").encode()
    return Draft(_digest(data), lambda: data)


def _digest(*parts: str | bytes) -> str:
    total = hashlib.sha256()
    for part in parts:
        data = part.encode() if isinstance(part, str) else part
        total.update(b"%d:" % len(data) + data)
    return total.hexdigest()
