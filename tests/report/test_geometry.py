"""Where things stand on the real pages: the usual batch, a very long one, an empty one, a slow one.

A sheet is written on with wet hands and a record is kept: nothing may run into a blank, be cut
off, stand alone at the end of a page, or leave a page all but empty.
"""

from __future__ import annotations

import ctypes
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from extremes import EMPTY, LONG, MAXIMAL, SLOW
from five_houses import HOUSES, write
from printed import BREWED, RECORDS, SHEETS, Made, assessed
from pypdfium2 import raw

from reportgen.report.documents import ALL

MM = 72 / 25.4
LEFT, TOP, RIGHT, BOTTOM = 20 * MM, 20 * MM, 195 * MM, 264 * MM
"""The live area, points, the same on both papers."""

CASES = [
    *((name, BREWED, "A4") for name in (*SHEETS, *RECORDS)),
    ("weigh-out", LONG, "A4"), ("weigh-out", EMPTY, "A4"),
    ("brew-day", LONG, "A4"), ("packaging", LONG, "Letter"),
    ("record", LONG, "A4"), ("brew-day", EMPTY, "A4"), ("record", EMPTY, "Letter"),
    ("cellar", SLOW, "A4"), ("record", MAXIMAL, "A4"),
]  # fmt: skip
"""The live area is that of both papers, so that what is long is laid out on one of them."""

BLANKS = ((30, 12), (20, 12), (24, 12), (15, 12))
"""Reading, correction, time, initials: width and height, mm."""


@dataclass(frozen=True)
class Box:
    """A letter, or something drawn: its edges in points from the top left of the page."""

    x0: float
    top: float
    x1: float
    bottom: float
    text: str = ""
    size: float = 0.0
    bold: bool = False

    @property
    def middle(self) -> float:
        """Half way down."""
        return (self.top + self.bottom) / 2


@dataclass(frozen=True)
class Page:
    """A page as laid out: its letters, and the frames and rules drawn on it."""

    chars: tuple[Box, ...]
    drawn: tuple[Box, ...]

    def frames(self, width: float, height: float) -> list[Box]:
        """Return the frames of a size, mm."""
        return [
            r for r in self.drawn
            if abs((r.x1 - r.x0) / MM - width) < 0.6 and abs((r.bottom - r.top) / MM - height) < 0.6
        ]  # fmt: skip


def laid_out(path: Path) -> tuple[Page, ...]:
    """Return the pages of a PDF."""
    with pypdfium2.PdfDocument(path) as document:
        return tuple(_page(page) for page in document)


def _page(page: pypdfium2.PdfPage) -> Page:
    height = page.get_height()

    def box(
        edges: tuple[float, float, float, float],
        text: str = "",
        size: float = 0.0,
        bold: bool = False,
    ) -> Box:
        left, bottom, right, top = edges
        return Box(left, height - top, right, height - bottom, text, size, bold)

    text = page.get_textpage()
    matrix, font, flags = raw.FS_MATRIX(), ctypes.create_string_buffer(80), ctypes.c_int()
    chars = []
    for index in range(text.count_chars()):
        letter = chr(raw.FPDFText_GetUnicode(text, index))
        if not letter.strip():
            continue
        raw.FPDFText_GetMatrix(text, index, matrix)
        size = raw.FPDFText_GetFontSize(text, index) * matrix.a
        raw.FPDFText_GetFontInfo(text, index, font, len(font), flags)
        bold = b"Bold" in font.value
        chars.append(box(text.get_charbox(index, loose=True), letter, round(size, 1), bold))
    paths = page.get_objects(filter=(raw.FPDF_PAGEOBJ_PATH,))
    return Page(tuple(chars), tuple(box(path.get_bounds()) for path in paths))


def body(sheet: bool) -> tuple[float, float]:
    """Return where the room between head and foot begins and ends, points from the top."""
    return (TOP + 8 * MM, BOTTOM - 12.5 * MM) if sheet else (TOP + 6.4 * MM, BOTTOM - 5.5 * MM)


def check_text_lies_within(pages: tuple[Page, ...]) -> None:
    """No letter leaves the live area, so that none is cut off or printed off the paper."""
    for number, page in enumerate(pages, 1):
        for c in page.chars:
            assert c.x0 >= LEFT - 1.5 and c.x1 <= RIGHT + 2, (number, c)
            assert c.top >= TOP - 4 and c.bottom <= BOTTOM + 4, (number, c)


def check_head_and_foot(pages: tuple[Page, ...], sheet: bool) -> None:
    """Head and foot are on every page with its number, one line each, and the body between them."""
    start, end = body(sheet)
    for number, page in enumerate(pages, 1):
        said = f"page{number}of{len(pages)}"
        head = "".join(c.text for c in page.chars if c.middle < start)
        foot = "".join(c.text for c in page.chars if c.middle > end)
        assert said in foot, (number, foot)
        assert (said in head) if sheet else head, (number, head)
        lines = {round(c.bottom) for c in page.chars if c.middle < start}
        assert max(lines) - min(lines) < 6, (number, head)


def check_nothing_is_written_into_a_blank(pages: tuple[Page, ...]) -> None:
    """No letter lies across the edge of a blank, and only a pre-printed 1 lies within one."""
    for number, page in enumerate(pages, 1):
        for width, height in BLANKS:
            for frame in page.frames(width, height):
                inside = [
                    c.text for c in page.chars
                    if c.x1 > frame.x0 + 1 and c.x0 < frame.x1 - 1
                    and frame.top < c.middle < frame.bottom
                ]  # fmt: skip
                assert inside in ([], ["1"]), (number, "".join(inside))


def check_no_words_run_into_others(pages: tuple[Page, ...]) -> None:
    """A large number and the small words beside it do not touch."""
    for number, page in enumerate(pages, 1):
        large = [c for c in page.chars if c.size >= 17]
        for small in (c for c in page.chars if c.size < 15):
            middle = (small.x0 + small.x1) / 2
            over = [
                c.text for c in large
                if c.x0 < middle < c.x1 and abs(c.middle - small.middle) < 7
            ]  # fmt: skip
            assert not over, (number, small, over)


def check_rows_have_room(pages: tuple[Page, ...]) -> None:
    """Blanks of 12 mm stand at least 3 mm apart."""
    found = 0
    for page in pages:
        tops = sorted(f.top for f in page.frames(30, 12))
        found += len(tops)
        gaps = [b - a for a, b in pairwise(tops) if b - a > 1]
        assert all(gap >= 15 * MM - 0.6 for gap in gaps), gaps
    assert found >= 3


def check_pages_are_used(pages: tuple[Page, ...], sheet: bool) -> None:
    """No page but the last is less than a fifth full, and none ends with a heading."""
    start, end = body(sheet)
    for number, page in enumerate(pages[:-1], 1):
        marks = [m for m in (*page.chars, *page.drawn) if m.top > start - 3 and m.bottom < end + 3]
        lowest = max(m.bottom for m in marks)
        assert (lowest - start) / (end - start) >= 0.2, number
        last = [m for m in marks if m.bottom > lowest - 4]
        said = "".join(m.text for m in last)
        assert not all(m.size >= 17 and m.bold for m in last), (number, said)


@pytest.mark.parametrize(("name", "batch", "paper"), CASES)
def test_geometry(made: Made, name: str, batch: str, paper: str) -> None:
    pages = laid_out(made(name, batch, paper))
    sheet = name in SHEETS
    check_text_lies_within(pages)
    check_head_and_foot(pages, sheet)
    check_pages_are_used(pages, sheet)
    assert min(c.size for page in pages for c in page.chars) >= (12 if sheet else 9)
    if sheet:
        check_nothing_is_written_into_a_blank(pages)
    if name in ("weigh-out", "brew-day", "cellar", "packaging"):
        check_rows_have_room(pages)


def words_of(page: Page) -> str:
    """Return the letters of a page, without spaces."""
    return "".join(c.text for c in page.chars)


DIFFER = {
    "brew-day": tuple(HOUSES),
    "weigh-out": ("bag", "us", "big"),
    "cellar": ("bag", "us", "big"),
    "packaging": ("bag", "us", "big"),
    "tasting": ("us",),
}
"""Houses whose sheet of a name is another: all brew otherwise; on the others stand bottles, kegs or
casks, a small, a usual and a large batch, an acid, a metabisulfite or neither, degrees Celsius or
Fahrenheit, A4 or Letter."""

HOUSE_SHEETS = [(house, name, HOUSES[house].paper) for name in SHEETS for house in DIFFER[name]]
SIDES = {"weigh-out": 2, "brew-day": 4, "cellar": 2, "packaging": 2}


@pytest.mark.parametrize(("house", "name", "paper"), HOUSE_SHEETS)
def test_sheets_of_five_houses(house: str, name: str, paper: str, tmp_path: Path) -> None:
    """No house has more sides than another, a side of empty lines, or words in a blank."""
    batch = assessed("2026-01", write(tmp_path / "house", HOUSES[house]))
    document = next(d for d in ALL if d.name == name)
    path = tmp_path / "sheet.pdf"
    path.write_bytes(document.make(batch, paper, 1))
    pages = laid_out(path)
    assert len(pages) <= SIDES.get(name, len(pages))
    check_text_lies_within(pages)
    check_head_and_foot(pages, True)
    check_nothing_is_written_into_a_blank(pages)
    check_no_words_run_into_others(pages)
    check_tables_stand_by_their_readings(document.view(batch, paper, 1), pages)
    start, end = body(True)
    for page in pages:
        words = [c for c in page.chars if start < c.middle < end]
        assert len(words) > 150, "a side of empty lines"
        assert min(c.size for c in page.chars) >= 12


def test_small_gallons_of_an_imperial_house(tmp_path: Path) -> None:
    """With a stick too coarse for its tolerance, whose words stand beside a number and its unit."""
    house = replace(HOUSES["us"], units="imperial", litres=24, into="cask")
    batch = assessed("2026-01", write(tmp_path / "house", house))
    path = tmp_path / "sheet.pdf"
    path.write_bytes(next(d for d in ALL if d.name == "brew-day").make(batch, "A4", 1))
    pages = laid_out(path)
    assert len(pages) == 4 and "toocoarse" in words_of(pages[0])
    check_text_lies_within(pages)
    check_nothing_is_written_into_a_blank(pages)
    check_no_words_run_into_others(pages)


def check_tables_stand_by_their_readings(view: Any, pages: tuple[Page, ...]) -> None:
    """A row that names a table is on the side of that table."""
    texts = [words_of(page) for page in pages]
    for step in getattr(view, "steps", ()):
        for row in step.rows:
            if row.todo:
                title = next(t.title for t in step.todos if t.mark == row.todo)
                both = [row.title.replace(" ", ""), f"{row.todo}{title}".replace(" ", "")]
                assert any(all(one in text for one in both) for text in texts), both


@pytest.mark.parametrize(("name", "batch", "heads"), [
    ("weigh-out", LONG, "WeighedScaleLotInitials"),
    ("cellar", SLOW, "GravityTemperatureTimeInitials"),
])  # fmt: skip
def test_rows_that_run_on_have_their_column_heads_on_each_side(
    made: Made, name: str, batch: str, heads: str
) -> None:
    run_on = 0
    for page in laid_out(made(name, batch, "A4")):
        blanks = sorted(page.frames(30, 12), key=lambda blank: blank.top)
        if not blanks or (name == "cellar" and "Additionsandend" in words_of(page)):
            continue
        above = "".join(c.text for c in page.chars if c.bottom <= blanks[0].top + MM)
        assert heads in above
        run_on += 1
    assert run_on >= 2
