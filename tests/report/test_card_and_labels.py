"""The card, the lesson sheet and the labels: one side, the law's facts on it, nothing cut off."""

from __future__ import annotations

import contextlib
import io
import re
import shutil
from pathlib import Path

import pdfua
import pypdfium2
import pytest
from extremes import LONG, make_extremes
from msgspec.structs import replace
from printed import ARCHIVE, BREWED, assessed, chars, texts

from reportgen.assessment.assess import assess
from reportgen.cli import main
from reportgen.loading import load_archive
from reportgen.report.card import card
from reportgen.report.documents import CARD, LESSON, Document
from reportgen.report.fit import lines_of
from reportgen.report.label_stock import STOCKS, LabelStock
from reportgen.report.labels import _sizes, labels
from reportgen.report.told_in_steps import DISSOLVED, DRAINED, PRIMED, TEACHINGS, teachings_of

MM = 25.4 / 72
HALVES = {"A4": (148.0, 210.0), "Letter": (139.7, 215.9)}
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("cards") / "archive"
    shutil.copytree(ARCHIVE, folder)
    return folder


def written(root: Path, *arguments: str) -> Path:
    said = io.StringIO()
    with contextlib.chdir(root), contextlib.redirect_stdout(said):
        assert main([*arguments, f"2026/{BREWED}.yaml"]) == 0
    return root / said.getvalue().strip()


def ink_of(path: Path, number: int = 0) -> tuple[float, ...]:
    with pypdfium2.PdfDocument(path) as document:
        image = document[number].render(scale=2, grayscale=True).to_pil()
    box = image.point(lambda value: 255 if value < 200 else 0).getbbox()
    assert box is not None
    return tuple(edge / 2 * MM for edge in (*box, *image.size))


@pytest.mark.parametrize("paper", HALVES)
def test_a_card_is_one_half_sheet(root: Path, paper: str) -> None:
    path = written(root, "record", "--card", "--paper", paper)
    (text,) = texts(path)
    for words in ("Shed Bitter", "% vol", "Contains: barley (gluten)", "Fuggle hops", "yeast",
                  "How it was made", "Clean.", BREWED):  # fmt: skip
        assert words in text
    left, top, right, bottom, width, height = ink_of(path)
    assert (width, height) == pytest.approx(HALVES[paper], abs=0.5)
    assert left > 11 and right < width - 11 and top > 12 and bottom < height - 12
    assert min(c.size for c in chars(path, 0)) >= 9
    assert [str(f) for f in pdfua.validate(str(path)).findings] == []


@pytest.mark.parametrize("document", [CARD, LESSON], ids=lambda d: d.name)
def test_a_batch_of_very_many_parts_still_fits(tmp_path: Path, document: Document) -> None:
    path = tmp_path / "made.pdf"
    path.write_bytes(document.make(assessed(LONG, make_extremes(tmp_path / "x")), "A4", 1))
    assert len(texts(path)) <= (1 if document is CARD else 3)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_lesson_has_each_step_with_its_numbers_and_a_question(root: Path, paper: str) -> None:
    path = written(root, "sheet", "--lesson", "--paper", paper)
    text = " ".join(texts(path))
    assert len(texts(path)) <= 2
    for step in TEACHINGS:
        assert step.question in text and step.without in text
    assert "Original gravity 1.0" in text
    assert min(c.size for n in range(len(texts(path))) for c in chars(path, n)) >= 12
    assert [str(f) for f in pdfua.validate(str(path)).findings] == []


def test_a_lesson_has_the_steps_of_its_batch(root: Path) -> None:
    """Of extract nothing is mashed, a bag without sparge is not rinsed, bottles take sugar."""
    batch = assessed(BREWED, root)

    def steps(**sections: object) -> list[str]:
        plan = batch.record.plan.with_members(**sections)
        other = replace(batch, record=batch.record.with_members(plan=plan))
        return [step.purpose for step in teachings_of(other)]

    assert steps() == [step.purpose for step in TEACHINGS]
    none = batch.record.plan.run_off.with_members(sparge="none")
    assert DRAINED.purpose in steps(run_off=none) and len(steps(run_off=none)) == len(TEACHINGS)
    extract = steps(grist=())
    assert extract[0] == DISSOLVED.purpose and not any("grain." in said for said in extract[1:])
    demo = load_archive(Path(__file__).parents[2] / "batches", only=["2026/2026-05.yaml"])
    hob = assess(demo, demo.batches["2026-05"])
    assert hob is not None and teachings_of(hob)[-1] is PRIMED


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda s: s.name)
def test_labels_lie_on_their_stock(root: Path, stock: object) -> None:
    from reportgen.report.label_stock import LabelStock

    assert isinstance(stock, LabelStock)
    width, height = PAPERS[stock.paper]
    for left, top in stock.places():
        assert left >= 0 and top >= 0
        assert left + stock.width <= width + 0.01 and top + stock.height <= height + 0.01
    path = written(root, "record", "--labels", stock.name)
    (text,) = texts(path)
    assert text.count("Shed Bitter") == text.count("Contains barley (gluten)") == stock.count
    assert text.count(f"Batch {BREWED}, best before 2026-08-01") == stock.count
    # Each label's words lie within it.
    bottom = ink_of(path)[3]
    last = max(top for _, top in stock.places())
    assert last < bottom < last + stock.height - 1
    assert [str(f) for f in pdfua.validate(str(path)).findings] == []


@pytest.mark.parametrize("stock", STOCKS.values(), ids=lambda s: s.name)
def test_allergens_are_never_cut_from_a_label(stock: LabelStock) -> None:
    """With as many as a beer may have, in type that the law still takes, on every stock."""
    many = "Contains barley (gluten), wheat (gluten), oats (gluten), lactose (milk), sulfite, fish"
    size, text, lines = _sizes(stock, "Courtyard Table Beer, topped up by plan", many)
    room = stock.width - 11
    used = lines * size * 1.1 + (3 + lines_of(many, room, text, True)) * text * 1.2
    assert used * 25.4 / 72 <= stock.height - 6 and text >= 6.5 and size >= 10


def test_a_label_of_a_size_that_no_sheet_has_is_refused(
    root: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with contextlib.chdir(root):
        assert main(["record", "--labels", "9x9", f"2026/{BREWED}.yaml"]) == 2
    assert "no label stock `9x9`; one of 99x68" in capsys.readouterr().err
    assert not list((root / "build" / "labels").glob("*9x9.pdf"))


@pytest.mark.parametrize(
    "went_in",
    ["  weighed:\n    - {item: wheat, amount: 0.5 kg}\n",
     "  added:\n    - {what: wheat, amount: 0.5 kg, to: mash, at: 09:00}\n  weighed:\n"],
    ids=["weighed", "added"],
)  # fmt: skip
def test_who_cannot_eat_it_is_told_by_what_went_in(tmp_path: Path, went_in: str) -> None:
    """Wheat that the plan has not stands on the card and the labels."""
    folder = tmp_path / "archive"
    shutil.copytree(ARCHIVE, folder)
    edit(folder / "stock.yaml", "malts:\n", f"malts:\n  wheat: {WHEAT}\n")
    edit(folder / f"2026/{BREWED}.yaml", "  weighed:\n", went_in)
    batch = assessed(BREWED, folder)
    view = card(batch, "A5")
    assert "wheat (gluten)" in view.contains and "wheat malt" in view.ingredients
    assert "wheat (gluten)" in labels(batch, STOCKS["99x38"]).contains


def test_what_did_not_go_in_is_not_on_the_card(tmp_path: Path) -> None:
    folder = tmp_path / "archive"
    shutil.copytree(ARCHIVE, folder)
    assert "crystal malt" in card(assessed(BREWED, folder), "A5").ingredients
    record = folder / f"2026/{BREWED}.yaml"
    edit(record, "amount: 0.36 kg", "amount: not done because the bag was empty")
    assert "crystal" not in card(assessed(BREWED, folder), "A5").ingredients


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


WHEAT = (
    "{name: Wheat malt, malt_class: wheat, extract: 82 %, colour: 4 EBC, "
    "allergens: [wheat (gluten)]}"
)


def test_no_card_invites_to_a_beer_that_is_scrapped(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "archive"
    shutil.copytree(ARCHIVE, folder)
    edit(folder / f"2026/{BREWED}.yaml", "\n  disposition: release", "\n  disposition: scrap")
    with contextlib.chdir(folder):
        for asked in (["--card"], ["--labels", "99x38"]):
            assert main(["record", *asked, BREWED]) == 1
            assert "its review says `disposition: scrap`" in capsys.readouterr().err
        assert not (folder / "build/cards").exists()
        assert not (folder / "build/labels").exists()
        # Two kinds at once are not half done.
        assert main(["record", "--card", "--labels", "99x38", BREWED]) == 2


def test_an_evening_of_several_beers_is_not_the_sheet_of_one(root: Path) -> None:
    """Made again from one record it would look changed by hand."""
    path = written(root, "sheet", "--tasting", "2026-12-05")
    with contextlib.chdir(root), contextlib.redirect_stdout(io.StringIO()) as said:
        # Nothing could be compared, as of labels.
        assert main(["verify", str(path)]) == 2
    assert "not made of one record" in said.getvalue() and "HOLD" not in said.getvalue()


def test_an_option_left_empty_or_one_too_many_prints_nothing_else(root: Path) -> None:
    before = {*root.rglob("*.pdf")}
    for asked in (
        ("record", "--labels", ""), ("record", "--labels", "38x99"),
        ("record", "--labels", "", "--card"), ("sheet", "--tasting", ""),
        ("sheet", "--lesson", "--tasting", "2026-12-05"),
    ):  # fmt: skip
        with contextlib.chdir(root), contextlib.redirect_stderr(io.StringIO()) as said:
            assert main([*asked, f"2026/{BREWED}.yaml"]) == 2, asked
        assert len(said.getvalue().splitlines()) == 1
    assert {*root.rglob("*.pdf")} == before


def test_a_card_says_the_taste_in_ordinary_words() -> None:
    """No term of a panel, and a middling body or gas is not told as a flavour."""
    demo = Path(__file__).parents[2] / "batches"
    said = {}
    for batch in ("2026-01", "2026-03", "2026-08"):
        view = CARD.view(assessed(batch, demo), "A5", 1)
        said[batch] = view.taste  # type: ignore[attr-defined]
    assert said["2026-03"].startswith("bitter")
    assert "full in the mouth" in said["2026-08"] and "roasted" in said["2026-08"]
    assert not re.search(r"\bbody\b|carbonation|burnt", " ".join(said.values()))
