"""The real PDFs, read back: what a brewer holds in the hand and an archivist opens in ten years."""

from __future__ import annotations

import datetime
import hashlib
import os
import re
import shutil
import subprocess
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pikepdf.pdfa
import pypdfium2
import pytest
from printed import (
    ARCHIVE,
    BREWED,
    HOSTILE,
    NAMES,
    PYTHON,
    RECORDS,
    SHEETS,
    Made,
    chars,
    drawn,
    texts,
)

from reportgen.assessment.assess import Assessment
from reportgen.assessment.issued_numbers import numbers_hash
from reportgen.report.documents import ALL, HTML
from reportgen.report.pdf import pdf, prepare

MM = 25.4 / 72
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
LEFT, TOP, WIDTH, HEIGHT = 20.0, 20.0, 175.0, 244.0
BY_PAPER = [*((name, "A4") for name in NAMES), ("brew-day", "Letter")]


def frames(page: dict[str, Any], width: float, height: float) -> list[tuple[float, float]]:
    """Return the left and top edges, in mm, of the frames of one size."""
    found = {
        (round(r["x0"] * MM, 1), round(r["top"] * MM, 1))
        for r in page["rects"]
        if abs(r["width"] * MM - width) < 0.06 and abs(r["height"] * MM - height) < 0.06
    }
    return sorted(found, key=lambda spot: (spot[1], spot[0]))


def number_of(path: Path, text: str) -> int:
    """Return which page has a text; it must be one."""
    (number,) = [n for n, page in enumerate(texts(path)) if text in page]
    return number


@pytest.mark.parametrize(("name", "paper"), BY_PAPER)
def test_nothing_lies_outside_the_live_area(made: Made, name: str, paper: str) -> None:
    """Ink, as a printer would lay it down, at 100 dots to the inch."""
    width, height = PAPERS[paper]
    dots = 100 / 25.4
    with pypdfium2.PdfDocument(made(name, paper=paper)) as document:
        for page in document:
            image = page.render(scale=100 / 72, grayscale=True).to_pil()
            assert (image.width / dots, image.height / dots) == pytest.approx(
                (width, height), abs=0.3
            )
            ink = image.point(lambda value: 255 if value < 200 else 0).getbbox()
            assert ink is not None
            left, top, right, bottom = (edge / dots for edge in ink)
            assert left >= LEFT - 0.3
            assert right <= LEFT + WIDTH + 0.4
            assert top >= TOP - 0.3
            assert bottom <= TOP + HEIGHT + 0.3


@pytest.mark.parametrize("name", SHEETS)
def test_no_type_below_12_points_on_a_working_sheet(made: Made, name: str) -> None:
    path = made(name)
    for number in range(len(texts(path))):
        assert min(c.size for c in chars(path, number)) >= 12


def test_sizes_of_type_on_the_brew_day_sheet(made: Made) -> None:
    path = made("brew-day")

    def faces(number: int, text: str) -> set[tuple[float, bool]]:
        wanted = "".join(text.split())
        page = chars(path, number)
        start = "".join(c.text for c in page).index(wanted)
        return {(c.size, c.bold) for c in page[start : start + len(wanted)]}

    mash, boil = number_of(path, "Strike temperature"), number_of(path, "Boil from")
    assert faces(mash, "74.2 °C") == {(18, True)}
    assert faces(mash, "Strike temperature") == {(14, False)}
    assert faces(mash, "OK 65.5") == {(12, False)}
    assert faces(boil, "+ 50 min") == {(23, True)}


def test_a_record_is_read_at_a_desk(made: Made) -> None:
    """No type below 9 points; the first page is set in 10, its name and its answer are larger."""
    for name in ("record", "working"):
        for number in range(len(texts(made(name)))):
            assert min(c.size for c in chars(made(name), number)) >= 9
    sizes = [c.size for c in chars(made("record"), 0)]
    assert {9, 10, 13, 24} <= set(sizes)
    assert sizes.count(10) > len(sizes) / 4


def test_blanks_have_the_measured_sizes_and_gaps(made: Made) -> None:
    path = made("brew-day")
    page = drawn(path, number_of(path, "Strike temperature"))
    readings, corrections = frames(page, 30, 12), frames(page, 20, 12)
    times, initials, ticks = frames(page, 24, 12), frames(page, 15, 12), frames(page, 7, 7)
    rows = [top for _, top in readings]
    assert len(rows) == 7
    assert all(b - (a + 12) >= 2.95 for a, b in pairwise(rows))
    for top in rows:
        lefts = [
            next(x for x, y in kind if abs(y - top) < 0.15)
            for kind in (readings, corrections, times, initials)
        ]
        ends = [left + w for left, w in zip(lefts, (30, 20, 24, 15), strict=True)]
        assert all(b - a >= 4.95 for a, b in zip(ends, lefts[1:], strict=False))
    # One a row, and one at the head: what must be done before.
    assert len(ticks) == len(rows) + 1


@pytest.mark.parametrize("name", SHEETS)
def test_a_loose_leaf_finds_its_batch(made: Made, brewed: Assessment, name: str) -> None:
    """Head and foot of each side. A tasting is blind, so there the plan's hash alone says it."""
    wanted = [brewed.batch.plan_hash, "copy 1"]
    numbers, own = f"numbers {numbers_hash(brewed)}", ""
    if name != "tasting":
        wanted += [BREWED, "plan rev 2"]
        own = "Shed Bitter"
    with pypdfium2.PdfDocument(made(name)) as document:
        for number, page in enumerate(document, 1):
            text = page.get_textpage()
            top, height = TOP / MM, page.get_height()
            head = text.get_text_bounded(0, height - top - 28, 600, height - top)
            foot = text.get_text_bounded(
                0, height - (TOP + HEIGHT) / MM, 600, height - (TOP + HEIGHT - 14) / MM
            )
            # The name has room at the head, the hash of the numbers at the foot.
            for band, more in ((head, own), (foot, numbers)):
                flat = " ".join(band.split())
                for said in (*wanted, more, f"page {number} of {len(document)}"):
                    assert said in flat, (said, flat)
            assert "safety data sheets, makers' ratings and licensed trades" in foot


@pytest.mark.parametrize(("name", "most"), [
    ("weigh-out", 2), ("brew-day", 4), ("cellar", 2), ("packaging", 2), ("tasting", 1),
])  # fmt: skip
def test_a_usual_batch_takes_few_sides(made: Made, name: str, most: int) -> None:
    assert len(texts(made(name))) <= most


def test_page_one_of_a_record_is_neither_empty_nor_crowded(made: Made) -> None:
    """It ends between two thirds of the way down and the foot, and the rest begins on side two."""
    path = made("record")
    found = texts(path)
    assert "2026-01-working.pdf" in found[0] and "Deviations Mash" not in found[0]
    with pypdfium2.PdfDocument(path) as document:
        image = document[0].render(scale=1, grayscale=True).to_pil()
    foot = round(257 / MM)
    box = image.crop((0, 0, image.width, foot)).point(lambda v: 255 if v < 200 else 0).getbbox()
    assert box is not None and 160 < box[3] * MM < 254


def test_a_record_with_a_deviation_takes_six_sides_at_most(made: Made) -> None:
    assert len(texts(made("record"))) <= 6


def test_each_number_of_the_record_names_its_line_of_the_working(made: Made) -> None:
    first, paper = texts(made("record"))[0], " ".join(texts(made("working")))
    line = re.search(r"Original gravity 1\.\d+ 1\.\d+ ±0\.\d+ \S+ PLAN (\d+)", first)
    assert line is not None
    assert re.search(rf" {line[1]} Original gravity ", paper)


def test_a_stage_never_straddles_a_turn(made: Made) -> None:
    for paper in PAPERS:
        path = made("brew-day", paper=paper)
        for first, last in (
            ("2 Mash Rest", "First wort gravity"), ("3 Run-off Return", "Kettle gravity"),
            ("4 Boil Expected", "Cast-out gravity"), ("5 Cool and pitch Sanitise", "Yeast pitched"),
        ):
            assert last in texts(path)[number_of(path, first)]


def test_what_is_free_is_ruled_for_remarks(made: Made) -> None:
    """Both sides of the cellar sheet have room left, and all of it is ruled 10 mm apart."""
    path = made("cellar")
    found = 0
    for number in range(len(texts(path))):
        rules = sorted(
            line["top"] * MM for line in drawn(path, number)["lines"]
            if line["width"] * MM > 174 and line["top"] * MM > 150
        )
        assert all(b - a == pytest.approx(10, abs=0.05) for a, b in pairwise(rules))
        found += len(rules)
    assert found >= 4


def test_page_one_of_a_record_stands_alone(made: Made) -> None:
    first, second = texts(made("record"))[:2]
    assert "Released with 1 minor deviation, closed." in first
    for text in ("Shed Bitter", BREWED, "2026-02-01", "40.0", "on plan", "not recorded",
                 "Original gravity", "From plan to glass", "Clean.", "Open issues",
                 "Decision: Released on 2026-02-20 by AB, A. Brewer", "2026-01-working.pdf"):
        assert text in first
    assert "What happened" not in first
    assert second.index("Deviations Mash temperature minor, closed") < 60


def test_parts_of_a_record_stand_in_order(made: Made) -> None:
    text = " ".join(texts(made("record")))
    parts = ["Open issues", "Deviations Mash temperature", "From plan to glass Forecast with",
             "Plan against actual The plan was changed", "Reconciliation Balance",
             "Course of the batch When", "Lots and instruments Ingredient", "Notes Plan",
             "Signatures and changes AB", "Corrected values †", "SHA-256"]
    places = [text.rindex(part) for part in parts]
    assert places == sorted(places)
    digest = hashlib.sha256((ARCHIVE / "2026" / "2026-01.yaml").read_bytes()).hexdigest()
    assert digest in text.replace(" ", "")


def test_verdicts_are_shapes_with_words(made: Made) -> None:
    path = made("record")
    first = drawn(path, 0)
    words = texts(path)[0]
    for text in ("on plan", "too close to call", "off plan", "not recorded"):
        assert text in words
    squares = [
        r for r in first["rects"]
        if 1.5 < r["width"] * MM < 3.2 and abs(r["width"] - r["height"]) < 0.1
    ]
    assert squares
    assert [c for c in first["curves"] if 1.2 < c["width"] * MM < 3.2]
    everything = " ".join(texts(path))
    for text in ("ON PLAN", "OFF PLAN", "NOT RECORDED", "not done because the pump failed"):
        assert text in everything


@pytest.mark.parametrize("name", NAMES)
def test_tagged_and_titled(made: Made, name: str) -> None:
    with pikepdf.open(made(name)) as pdf:
        root = pdf.Root
        assert "/StructTreeRoot" in root
        assert bool(root.MarkInfo.Marked)
        assert str(root.Lang) == "en-GB"
        assert bool(root.ViewerPreferences.DisplayDocTitle)
        assert BREWED in str(pdf.docinfo["/Title"])
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
        if name == "record":
            assert "/Outlines" in root


@pytest.mark.parametrize("name", NAMES)
def test_accessible(made: Made, name: str) -> None:
    import pdfua

    found = pdfua.validate(str(made(name))).findings
    assert [f"{f.rule_id}: {f.message}" for f in found] == []


@pytest.mark.parametrize("name", RECORDS)
def test_archival(made: Made, name: str) -> None:
    """PDF/A-3; the check at hand knows level B only, and none of the extension schemas that
    ISO 19005-3, 6.6.2.3.3 allows."""
    with pikepdf.open(made(name)) as pdf:
        with pdf.open_metadata() as metadata:
            assert metadata["pdfaid:part"] == "3"
            assert metadata["pdfaid:conformance"] == "A"
        report = pikepdf.pdfa.check(pdf, "3b")
    rest = [
        f for f in report.findings
        if f.kind == "violation" and "pdfaExtension" not in f.message
        and "pdfaSchema" not in f.message and "pdfaProperty" not in f.message
        and "pdfuaid" not in f.message and "conformance" not in f.message
    ]
    assert [str(f) for f in rest] == []


@pytest.mark.parametrize("name", NAMES)
def test_only_our_typeface_and_all_of_it_embedded(made: Made, name: str) -> None:
    with pikepdf.open(made(name)) as pdf:
        fonts = {
            str(font.BaseFont): font for page in pdf.pages
            for font in page.resources.get("/Font", {}).values()
        }
        assert fonts
        for title, font in fonts.items():
            assert re.match(r"/[A-Z]{6}\+Sheet-Sans", title), title
            descriptor = font.DescendantFonts[0].FontDescriptor
            assert "/FontFile2" in descriptor or "/FontFile3" in descriptor


@pytest.mark.parametrize("name", RECORDS)
def test_the_source_is_inside(made: Made, name: str) -> None:
    source = (ARCHIVE / "2026" / "2026-01.yaml").read_bytes()
    with pikepdf.open(made(name)) as pdf:
        assert list(pdf.attachments) == ["2026-01.yaml"]
        attached = pdf.attachments["2026-01.yaml"].get_file()
        assert attached.read_bytes() == source
        (file,) = pdf.Root.AF[:1]
        assert str(file.AFRelationship) == "/Source"
        # The record's own last day, never the clock.
        assert str(file.EF.F.Params.ModDate) == "D:20260301000000Z"
        assert str(pdf.docinfo["/CreationDate"]).startswith("D:20260301")


def test_a_working_sheet_carries_no_file(made: Made) -> None:
    with pikepdf.open(made("brew-day")) as pdf:
        assert len(pdf.attachments) == 0


_RUN = """
import sys
from pathlib import Path
from reportgen.assessment.assess import assess
from reportgen.loading import load_archive
from reportgen.report.documents import ALL, HTML
archive = load_archive(Path(sys.argv[1]))
batch = assess(archive, archive.batches[sys.argv[2]])
order = sys.argv[3].split(",")
made = {n: next(d for d in ALL if d.name == n).make(batch, "A4", 1) for n in order}
made |= {f"{d.name}, a page": d.make(batch, "A4", 1, HTML) for d in reversed(ALL)}
import hashlib
print({n: hashlib.sha256(made[n]).hexdigest() for n in sorted(made)})
"""


def test_same_bytes_in_any_zone_folder_and_order(
    tmp_path: Path, made: Made, brewed: Assessment
) -> None:
    """Another process, time zone, locale, folder, hash seed and order of documents.

    All are held against each other as pages, two of them as they are laid out.
    """
    elsewhere = tmp_path / "another place"
    shutil.copytree(ARCHIVE, elsewhere / "archive")
    environment = {
        **os.environ, "PYTHONHASHSEED": "4242", "TZ": "Pacific/Kiritimati", "LC_ALL": "C",
        "PYTHONPATH": str(Path(__file__).parents[2]), "FONTCONFIG_PATH": "/nonexistent",
    }
    done = subprocess.run(
        [PYTHON, "-c", _RUN, str(elsewhere / "archive"), BREWED, "tasting,record"],
        cwd=elsewhere, env=environment, capture_output=True, text=True, timeout=240, check=True,
    )
    here = {name: made(name).read_bytes() for name in ("record", "tasting")}
    here |= {f"{d.name}, a page": d.make(brewed, "A4", 1, HTML) for d in ALL}
    digests = {name: hashlib.sha256(here[name]).hexdigest() for name in sorted(here)}
    assert done.stdout.strip() == str(digests)


@pytest.mark.parametrize("name", ["brew-day", "record"])
def test_hostile_text_is_shown_and_nothing_of_it_happens(made: Made, name: str) -> None:
    path = made(name, batch=HOSTILE)
    flat = " ".join(texts(path))
    assert "<script>alert(1)</script> {{ 7*7 }} [U+4E2D] & Co" in flat
    if name == "record":
        for shown in (
            '<img src="http://example.org/x.png"> <script>alert(2)</script> {{ 7*7 }}',
            "[image: etc, file:///etc/passwd]",
            "a link (file:///etc/hostname)",
            "http://example.org/",
            "<u>Head</u>",
            "{% include 'x' %}",
        ):
            assert shown in flat, shown
    assert "root:x:0" not in flat
    with pikepdf.open(path) as pdf:
        for page in pdf.pages:
            assert "/Annots" not in page or len(page.Annots) == 0
        assert "/AcroForm" not in pdf.Root
        assert "/Names" not in pdf.Root or "/JavaScript" not in pdf.Root.Names


def test_reads_in_grey(made: Made) -> None:
    """No text is so light, or so coloured, that it is lost in grey."""
    path = made("record")
    for number in range(len(texts(path))):
        assert max(c.light for c in chars(path, number)) < 0.45


def test_a_font_is_cut_where_harfbuzz_cannot(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second way of the layout library is loaded when it is called, and not before."""
    prepare()
    import weasyprint.pdf.fonts

    monkeypatch.setattr(weasyprint.pdf.fonts, "harfbuzz_subset", None)
    day = datetime.date(2026, 1, 17)
    page = '<html lang="en"><title>Weir</title><p>Weir stout 4.9 %'
    cut = pdf(page, title="Weir", identifier_source=b"", date=day)
    with pypdfium2.PdfDocument(cut) as document:
        assert "Weir stout 4.9 %" in document[0].get_textpage().get_text_range()
    assert len(cut) < 30_000


def test_the_second_way_of_cutting_fonts_is_not_loaded_for_a_record() -> None:
    code = (
        "import sys; from reportgen.report.pdf import prepare; prepare(); import weasyprint;"
        "print([n for n in sys.modules if n.startswith(('fontTools.subset', 'fontTools.varLib'))])"
    )
    assert subprocess.run(
        [PYTHON, "-c", code], capture_output=True, text=True, check=True
    ).stdout == "[]\n"
