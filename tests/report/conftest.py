"""An archive of our own for the documents, and each document of it made once for all tests."""

from __future__ import annotations

import ctypes
import logging
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pdfplumber
import pypdfium2
import pytest
from extremes import EXTREMES, make_extremes
from pypdfium2 import raw

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive
from reportgen.report.documents import ALL

ARCHIVE = Path(__file__).parent / "archive"
NAMES = tuple(document.name for document in ALL)
RECORDS = tuple(document.name for document in ALL if document.archival)
SHEETS = tuple(name for name in NAMES if name not in RECORDS)
BREWED, HOSTILE = "2026-01", "2026-02"

Made = Callable[..., Path]


def assessed(batch: str, root: Path = ARCHIVE) -> Assessment:
    """Return a batch of the archive, assessed."""
    archive = load_archive(root)
    found = assess(archive, archive.batches[batch])
    assert found is not None
    return found


@pytest.fixture(scope="session")
def brewed() -> Assessment:
    return assessed(BREWED)


@pytest.fixture(scope="session")
def hostile() -> Assessment:
    return assessed(HOSTILE)


@pytest.fixture(scope="session")
def in_gallons(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    """The same batch in a house that prints US units."""
    root = tmp_path_factory.mktemp("gallons") / "archive"
    shutil.copytree(ARCHIVE, root)
    house = root / "brewery.yaml"
    text = house.read_text(encoding="utf-8")
    assert "units: metric" in text
    house.write_text(text.replace("units: metric", "units: US"), encoding="utf-8")
    return assessed(BREWED, root)


@pytest.fixture(scope="session")
def in_casks(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    """The same batch, planned for casks; it is not packed yet."""
    root = tmp_path_factory.mktemp("casks") / "archive"
    shutil.copytree(ARCHIVE, root)
    record = root / f"2026/{BREWED}.yaml"
    text = record.read_text(encoding="utf-8")
    keg = "packaging: {into: keg, carbonation: 2.2 vol, beer_temperature: 6 C}"
    assert keg in text
    cask = "packaging: {into: cask, carbonation: 1.4 vol}"
    record.write_text(text.split("\npackaging:")[0].replace(keg, cask) + "\n", encoding="utf-8")
    return assessed(BREWED, root)


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Return a function that makes a document once, also when tests run in several processes.

    A line that the PDF library logs while it works is an error.
    """
    shared = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        shared = shared.parent

    def archive_of(batch: str) -> Path:
        if batch not in EXTREMES:
            return ARCHIVE
        folder = shared / f"extremes-{os.getpid()}"
        return folder if folder.exists() else make_extremes(folder)

    def make(name: str, batch: str = BREWED, paper: str = "A4") -> Path:
        path = shared / f"{batch}-{name}-{paper}.pdf"
        if not path.exists():
            document = next(d for d in ALL if d.name == name)
            with _silence():
                data = document.make(assessed(batch, archive_of(batch)), paper, 1)
            part = path.with_suffix(f".{os.getpid()}")
            part.write_bytes(data)
            os.replace(part, path)
        return path

    return make


@contextmanager
def _silence() -> Iterator[None]:
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
