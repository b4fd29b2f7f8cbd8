"""Text taken from a PDF is text that was printed: nothing is hidden in it, nothing put in."""

from __future__ import annotations

import contextlib
import io
import re
import shutil
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from extremes import LONG
from extremes import NAME as LONG_NAME
from hypothesis import given
from hypothesis import strategies as st
from printed import ARCHIVE, BREWED, NAMES, Made, assessed, texts
from pypdfium2 import raw

from reportgen.cli import main
from reportgen.report.documents import ALL
from reportgen.report.fit import ELLIPSIS, fit, width_of

MM = 72 / 25.4
LIGATURE = 3
"""A glyph stands for at most so many letters: ff, ffi."""

CASES = [*((name, BREWED) for name in NAMES), ("weigh-out", LONG), ("brew-day", LONG),
         ("record", LONG)]  # fmt: skip

_MAPPED = re.compile(rb"<([0-9a-fA-F]+)>\s*<([0-9a-fA-F]+)>")


def mapped(path: Path) -> set[str]:
    """Return the texts that the glyphs of a document stand for."""
    found: set[str] = set()
    with pikepdf.open(path) as pdf:
        fonts = {
            font.objgen: font for page in pdf.pages
            for font in page.resources.get("/Font", {}).values()
        }  # fmt: skip
        for font in fonts.values():
            for _, text in _MAPPED.findall(font.ToUnicode.read_bytes()):
                found.add(bytes.fromhex(text.decode()).decode("utf-16-be"))
    return found


@pytest.mark.parametrize(("name", "batch"), CASES)
def test_a_glyph_stands_for_what_it_shows(made: Made, name: str, batch: str) -> None:
    wrong = {t for t in mapped(made(name, batch)) if len(t) > LIGATURE or "…" in t and t != "…"}
    assert not wrong


def without_ink(path: Path, number: int) -> str:
    """Return the letters of a page where nothing is drawn."""
    scale = 2.0
    with pypdfium2.PdfDocument(path) as document:
        page = document[number]
        image = page.render(scale=scale, grayscale=True).to_pil()
        text, height = page.get_textpage(), page.get_height()
        lost = []
        for index in range(text.count_chars()):
            letter = chr(raw.FPDFText_GetUnicode(text, index))
            if not letter.strip() or letter in "\u00ad\u2060\u200b":
                continue
            left, bottom, right, top = text.get_charbox(index)
            box = (left, height - top, right, height - bottom)
            edges = [round(e * scale) + (1 if k > 1 else -1) for k, e in enumerate(box)]
            if image.crop(tuple(edges)).getextrema()[0] > 190:
                lost.append(letter)
    return "".join(lost)


@pytest.mark.parametrize(("name", "batch"), CASES)
def test_each_letter_of_a_first_side_is_drawn(made: Made, name: str, batch: str) -> None:
    assert without_ink(made(name, batch), 0) == ""


def test_a_long_name_is_cut_where_the_page_shows_it_cut(made: Made) -> None:
    for name in ("weigh-out", "brew-day", "record"):
        for page in texts(made(name, LONG)):
            found = re.search(r"2026-11\s+(Crépuscule[^…]*)…", page)
            assert found and LONG_NAME.startswith(found[1])
            # Whoever looks for the end of the name finds it only where it is printed in full.
        if name != "record":
            assert "extra long" not in texts(made(name, LONG))[-1]


def test_names_without_end_stay_on_the_page(tmp_path: Path) -> None:
    """No space to break at, the widest letters, in each place that has a name."""
    root = tmp_path / "archive"
    shutil.copytree(ARCHIVE, root)
    wide, batch = "W" * 190, "W" * 40
    path = root / "2026" / f"{BREWED}.yaml"
    text = path.read_text(encoding="utf-8")
    text = text.replace(f"batch: {BREWED}", f"batch: {batch}")
    text = text.replace("name: Shed Bitter", f"name: {wide}")
    text = text.replace("lot: M-1}", f"lot: {'M' * 60}}}", 1)
    (path.parent / f"{batch}.yaml").write_text(text, encoding="utf-8")
    for file, old in (("stock.yaml", "name: Pale malt"), ("stock.yaml", "name: Fuggle"),
                      ("brewery.yaml", "name: Test Yard")):  # fmt: skip
        whole = (root / file).read_text(encoding="utf-8")
        assert old in whole, old
        (root / file).write_text(whole.replace(old, f"name: {wide}"), encoding="utf-8")
    one = assessed(batch, root)
    for name in ("weigh-out", "brew-day", "tasting"):
        made = tmp_path / f"{name}.pdf"
        made.write_bytes(next(d for d in ALL if d.name == name).make(one, "A4", 1))
        assert all(len(t) <= LIGATURE for t in mapped(made))
        assert not beyond(made, 195), name


def beyond(path: Path, right: float) -> str:
    """Return the letters of a PDF that end beyond so many millimetres from the left."""
    found = []
    with pypdfium2.PdfDocument(path) as document:
        for page in document:
            text = page.get_textpage()
            found += [
                text.get_text_range(i, 1)
                for i in range(text.count_chars())
                if text.get_charbox(i, loose=True)[2] > right * MM + 2
            ]
    return "".join(found).strip()


def test_a_brewery_without_end_stays_on_the_page_of_a_comparison_and_of_the_list(
    tmp_path: Path,
) -> None:
    root = tmp_path / "archive"
    shutil.copytree(ARCHIVE, root)
    path = root / "brewery.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("name: Test Yard", f"name: {'Weir and ' * 20}"), "utf-8")
    with contextlib.chdir(root), contextlib.redirect_stdout(io.StringIO()):
        assert main(["compare", "2026-01", "2026-02", "--pdf"]) == 0
        assert main(["ledger"]) == 0
    made = sorted(root.glob("build/**/*.pdf"))
    assert len(made) >= 2
    for pdf in made:
        assert all(len(t) <= LIGATURE for t in mapped(pdf))
        assert not beyond(pdf, 265 if pdf.name == "ledger.pdf" else 195), pdf.name


def test_no_stylesheet_of_paper_hides_text() -> None:
    """What overflows is cut by measure, before it is set."""
    root = Path(__file__).parents[2] / "templates"
    sheets = [p for p in root.rglob("*.css") if p.name not in ("screen.css", "ledger.css")]
    assert len(sheets) >= 8
    for path in sheets:
        assert not re.search(r"overflow: *hidden|text-overflow", path.read_text("utf-8")), path


def test_what_fits_is_left_whole() -> None:
    assert fit("Weir Mild", 86, 12) == "Weir Mild"
    assert fit("", 86, 12) == ""
    assert fit("Weir Mild", 1, 12) == ""


def test_a_cut_text_ends_with_a_letter_and_an_ellipsis() -> None:
    assert fit("Weir Mild, brewed again", 22, 12) == "Weir Mild" + ELLIPSIS


@given(st.text(min_size=1, max_size=120), st.floats(8, 120), st.sampled_from([9, 12, 18]))
def test_what_is_cut_has_room_and_begins_as_the_text_does(
    text: str, width: float, size: int
) -> None:
    found = fit(text, width, size)
    assert width_of(found, size) <= width
    assert text.startswith(found.removesuffix(ELLIPSIS)) or found == text


@given(st.lists(st.text("Weißundfr", min_size=1, max_size=9), min_size=12, max_size=30))
def test_prose_that_is_cut_ends_with_a_whole_word(words: list[str]) -> None:
    found = fit(" ".join(words), 40, 12, lines=2)
    kept = found.removesuffix(ELLIPSIS).split(" ")
    assert kept == words[: len(kept)]


@given(st.text("Weiß und fr ", min_size=1, max_size=90))
def test_two_lines_hold_what_is_cut_for_two(text: str) -> None:
    found = fit(text, 40, 12, lines=2)
    lines = [""]
    for word in found.split(" "):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if width_of(longer, 12) <= 40:
            lines[-1] = longer
        else:
            lines.append(word)
    assert len(lines) <= 2
