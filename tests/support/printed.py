"""The archive that documents are made of in tests, and what is read back from a PDF."""

from __future__ import annotations

import ctypes
import logging
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pdfplumber
import pypdfium2
from pypdfium2 import raw

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive
from reportgen.record.load import Archive
from reportgen.report.documents import ALL

ARCHIVE = Path(__file__).parents[1] / "report" / "archive"
DEMO = Path(__file__).parents[2] / "batches"
NAMES = tuple(document.name for document in ALL)
RECORDS = tuple(document.name for document in ALL if document.archival)
SHEETS = tuple(name for name in NAMES if name not in RECORDS)
BREWED, HOSTILE = "2026-01", "2026-02"

Made = Callable[..., Path]


@lru_cache
def _standing(root: Path) -> Archive:
    return load_archive(root)


def assessed(batch: str, root: Path = ARCHIVE) -> Assessment:
    """Return a batch of an archive, assessed."""
    # What lies in the checkout stays as it is while tests run.
    archive = _standing(root) if root in (ARCHIVE, DEMO) else load_archive(root)
    found = assess(archive, archive.batches[batch])
    assert found is not None
    return found


@contextmanager
def nothing_logged() -> Iterator[None]:
    """Hold that the layout library logs no warning meanwhile."""
    lines: list[str] = []

    class Keep(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            lines.append(record.getMessage())

    handler = Keep(logging.WARNING)
    logger = logging.getLogger("weasyprint")
    logger.addHandler(handler)
    try:
        yield
    finally:
        logger.removeHandler(handler)
    assert lines == []


@lru_cache(maxsize=32)
def texts(path: Path) -> tuple[str, ...]:
    """Return the text of each page, one space between words."""
    with pypdfium2.PdfDocument(path) as document:
        return tuple(" ".join(page.get_textpage().get_text_range().split()) for page in document)


@dataclass(frozen=True)
class Char:
    """One character as set: its size in points, whether bold, its lightness 0 to 1."""

    text: str
    size: float
    bold: bool
    light: float


@lru_cache(maxsize=32)
def chars(path: Path, number: int) -> tuple[Char, ...]:
    """Return the characters of one page, spaces left out."""
    found = []
    with pypdfium2.PdfDocument(path) as document:
        page = document[number].get_textpage()
        name, flags = ctypes.create_string_buffer(80), ctypes.c_int()
        matrix = raw.FS_MATRIX()
        red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
        for index in range(page.count_chars()):
            text = chr(raw.FPDFText_GetUnicode(page, index))
            if not text.strip():
                continue
            raw.FPDFText_GetFontInfo(page, index, name, 80, flags)
            raw.FPDFText_GetFillColor(page, index, red, green, blue, alpha)
            light = (0.2126 * red.value + 0.7152 * green.value + 0.0722 * blue.value) / 255
            raw.FPDFText_GetMatrix(page, index, matrix)
            size = raw.FPDFText_GetFontSize(page, index) * matrix.a
            found.append(Char(text, round(size, 2), b"Bold" in name.value, light))
    return tuple(found)


@lru_cache(maxsize=32)
def drawn(path: Path, number: int) -> dict[str, list[dict[str, Any]]]:
    """Return the rects, lines and curves drawn on one page."""
    with pdfplumber.open(path, pages=[number + 1]) as document:
        page = document.pages[0]
        return {kind: list(getattr(page, kind)) for kind in ("rects", "lines", "curves")}


PYTHON = sys.executable
