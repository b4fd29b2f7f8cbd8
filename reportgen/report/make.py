"""From a view of a document to its PDF or its page for a screen: what all documents share."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from reportgen.assess import Assessment
from reportgen.report.parts import Identity


class View(Protocol):
    """Every view has an identity."""

    @property
    def identity(self) -> Identity:
        """What stands at the head and foot of every page."""
        ...


def document_pdf(
    assessment: Assessment, name: str, view: View, paper: str, archival: bool = False
) -> bytes:
    """Return the PDF of a document; an archival one has the record's source attached."""
    from reportgen.report.batch_record import date_of
    from reportgen.report.render import html, pdf

    source = assessment.batch.source
    root = Path(assessment.archive.root)
    identity = view.identity
    return pdf(
        html(name, view, paper, root),
        title=f"{identity.document} {identity.batch}: {identity.name}",
        identifier_source=source.data,
        date=date_of(assessment),
        attachment=(Path(source.file).name, source.data) if archival else None,
        archival=archival,
        archive=root,
    )


def document_html(assessment: Assessment, name: str, view: View, paper: str) -> bytes:
    """Return a document as one HTML file that needs nothing else: style and drawings are inside."""
    from reportgen.report.render import SCREEN, html

    text = html(name, view, paper, Path(assessment.archive.root), SCREEN)
    return (text.rstrip("\n") + "\n").encode()
