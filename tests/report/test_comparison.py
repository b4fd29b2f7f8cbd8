"""Two batches compared, on paper: both papers, the same bytes, nothing outside, all of it told."""

from __future__ import annotations

import contextlib
import io
import shutil
from pathlib import Path

import pdfua
import pypdfium2
import pytest
from conftest import ARCHIVE, chars, texts

from reportgen.cli import main

MM = 25.4 / 72


def compared(root: Path, *options: str) -> Path:
    """Run ``compare --pdf`` and return the file it says."""
    said = io.StringIO()
    with contextlib.chdir(root), contextlib.redirect_stdout(said):
        assert main(["compare", "2026-01", "2026-02", "--pdf", *options]) == 0
    return root / said.getvalue().strip()


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("compared") / "house"
    shutil.copytree(ARCHIVE, root)
    return root


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_comparison_is_a_printable_document(house: Path, paper: str) -> None:
    path = compared(house, "--paper", paper)
    data = path.read_bytes()
    assert data == compared(house, "--paper", paper).read_bytes()
    said = " ".join(texts(path))
    for words in ("2026-01 and 2026-02", "Shed Bitter, brewed 2026-02-01", "Plan",
                  "What the plan's differences do", "Figures that differ"):
        assert words in said
    with pypdfium2.PdfDocument(path) as document:
        for number, page in enumerate(document):
            assert f"page {number + 1} of {len(document)}" in texts(path)[number]
            image = page.render(scale=2, grayscale=True).to_pil()
            ink = image.point(lambda value: 255 if value < 200 else 0).getbbox()
            assert ink is not None
            left, top, right, bottom = (edge / 2 * MM for edge in ink)
            assert left >= 19.7 and right <= 195.4 and top >= 19.7 and bottom <= 264.3
            assert min(c.size for c in chars(path, number)) >= 9
    assert [str(f) for f in pdfua.validate(str(path)).findings] == []
