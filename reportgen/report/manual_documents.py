"""The chapter of the manual on the documents, with a picture of each, made from the demo archive.

A picture is the first page as the tool prints it now, not a drawing that could grow old.
"""

from __future__ import annotations

import io
from collections.abc import Iterator

from msgspec import Struct

from reportgen.report.documents import ALL
from reportgen.resources import demo_dir

BATCH = "2026-01"
"""The batch of the demo that is shown: brewed, packed and tasted, so that all documents apply."""

PICTURES = "pictures"
"""Folder of the pictures below that of the manual."""

DOTS = 110
"""Dots an inch of a picture."""


class DocumentPicture(Struct, frozen=True):
    """A document as the manual shows it; ``picture`` is the address of its picture."""

    name: str
    title: str
    when: str
    words: str
    file: str
    picture: str

    @property
    def anchor(self) -> str:
        """Name of the document in the manual."""
        return f"document-{self.name}"


def documents() -> tuple[DocumentPicture, ...]:
    """Return every document of a batch, in the order of the work."""
    return tuple(
        DocumentPicture(d.name, d.title, d.when, d.about, d.file(BATCH), f"{PICTURES}/{d.name}.png")
        for d in ALL
    )


def pictures() -> Iterator[tuple[str, bytes]]:
    """Make each document from the demo and yield its address and its first page as PNG."""
    from reportgen.assessment.assess import assess
    from reportgen.loading import load_archive

    archive = load_archive(demo_dir())
    batch = assess(archive, archive.batches[BATCH])
    assert batch is not None
    for document, shown in zip(ALL, documents(), strict=True):
        yield shown.picture, first_page(document.make(batch, "A4", 1))


def first_page(pdf: bytes) -> bytes:
    """Return the first page of a PDF as PNG in grey, since that is how most are printed."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    try:
        image = document[0].render(scale=DOTS / 72, grayscale=True).to_pil()
        out = io.BytesIO()
        image.save(out, "PNG")
        return out.getvalue()
    finally:
        document.close()
