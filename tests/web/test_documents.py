"""The documents as pages for a screen: on a phone, without script, for everyone, and printed."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from asked_pages import SCHEMES, TARGETS, Page, violations, written
from browser import as_pdf, ask
from extremes import EXTREMES, make_extremes
from synthetic_archive import make_archive

from reportgen.assessment.assess import assess
from reportgen.loading import load_archive
from reportgen.report.documents import ALL, HTML, SHEETS

REPORT = Path(__file__).parents[1] / "report"

PHONE = 360


def pages_of(root: Path, batches: tuple[str, ...], folder: Path) -> dict[str, Path]:
    """Write every document of some batches as HTML and return them by batch and name."""
    archive = load_archive(root)
    found = {}
    for batch in batches:
        assessment = assess(archive, archive.batches[batch])
        assert assessment is not None
        for document in ALL:
            path = folder / f"{batch}-{document.name}.html"
            path.write_bytes(document.make(assessment, "A4", 1, HTML))
            found[f"{batch} {document.name}"] = path
    return found


@pytest.fixture(scope="module")
def documents(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Every kind of document: of a usual batch, of hostile text, of the ends, in two systems."""
    folder = tmp_path_factory.mktemp("documents")
    found = pages_of(REPORT / "archive", ("2026-01", "2026-02"), folder)
    return found | pages_of(make_extremes(folder / "extremes", "US"), EXTREMES, folder)


def usual(documents: dict[str, Path]) -> dict[str, Path]:
    """Return the documents of the usual batch."""
    return {name: path for name, path in documents.items() if name.startswith("2026-01 ")}


@pytest.mark.parametrize("width", [PHONE, 820])
def test_nothing_is_wider_than_the_window_and_targets_are_large(
    width: int, documents: dict[str, Path], tmp_path: Path
) -> None:
    for name, answer in ask(documents, tmp_path, TARGETS, width).items():
        assert answer["scroll"] <= answer["client"] <= width, (name, answer["scroll"])
        assert answer["small"] == [] and answer["wide"] == [], (name, answer)


NARROW = """
    return Array.prototype.filter.call(document.querySelectorAll('.data td, .data th'),
      function (e) { return e.textContent.trim().length > 40 &&
        e.getBoundingClientRect().width < document.documentElement.clientWidth / 2; })
      .map(function (e) { return e.textContent.trim(); });
"""


def test_a_sentence_in_a_table_has_the_width_of_a_phone(
    documents: dict[str, Path], tmp_path: Path
) -> None:
    """Not a word a line, in a column of what is a table on paper."""
    records = {name: path for name, path in documents.items() if name.endswith(" record")}
    assert len(records) > 2
    found = ask(records, tmp_path, NARROW, PHONE)
    assert not any(found.values()), found


READING = """
    function size(e) { return parseFloat(getComputedStyle(e).fontSize); }
    var list = document.querySelectorAll('ol.rows')[%d];
    var rows = list.children, values = list.querySelectorAll('.value');
    var before = [size(values[0]), size(values[1])];
    rows[0].querySelector('input').click();
    var after = [size(values[0]), size(values[1])];
    var smallest = 99;
    document.querySelectorAll('main *').forEach(function (e) {
      if (e.children.length === 0 && e.textContent.trim() && !e.closest('svg, .boxes'))
        smallest = Math.min(smallest, size(e));
    });
    var todo = document.querySelector('.row > .todo');
    var tops = Array.prototype.map.call(document.querySelectorAll('h2[id]'),
      function (e) { return e.id; });
    return {before: before, after: after, smallest: smallest, places: tops,
            todo: todo && todo.parentNode.querySelector('label').textContent,
            onward: document.querySelectorAll('.onward .next').length};
"""


def test_the_next_reading_is_large_and_its_table_stands_below_it(
    documents: dict[str, Path], tmp_path: Path
) -> None:
    """Without its script, which the page can do without."""
    path = tmp_path / "without.html"
    text = documents["2026-01 brew-day"].read_text(encoding="utf-8")
    path.write_text(re.sub(r"<script.*?</script>", "", text, flags=re.DOTALL), encoding="utf-8")
    page = {"sheet": path}
    (answer,) = ask(page, tmp_path, READING % 1, PHONE).values()
    assert answer["before"][0] > 40 > answer["before"][1]
    # Ticked, it steps back and the one after it is next.
    assert answer["after"][1] > 40 > answer["after"][0]
    assert answer["smallest"] >= 16
    assert "Malt temperature" in answer["todo"]
    assert answer["places"] == [f"stage-{n}" for n in range(2, 6)] and answer["onward"] == 3


@pytest.mark.parametrize("scheme", SCHEMES)
def test_accessible_documents(documents: dict[str, Path], tmp_path: Path, scheme: str) -> None:
    assert violations(usual(documents), tmp_path, PHONE, scheme) == {}


@pytest.mark.parametrize("scheme", SCHEMES)
def test_accessible_ledger(
    tmp_path_factory: pytest.TempPathFactory, tmp_path: Path, scheme: str
) -> None:
    """On a wide window, where its tables have all their columns."""
    folder = tmp_path_factory.mktemp("ledger") / "house"
    make_archive(folder, 5, seed=3)
    found = written(folder)
    kinds = {name: path for name, path in found.items() if not name.startswith("batch/")}
    kinds["batch"] = next(path for name, path in found.items() if name.startswith("batch/"))
    assert violations(kinds, tmp_path, 1300, scheme) == {}


def test_one_file_sound_and_linked_within(documents: dict[str, Path]) -> None:
    for name, path in documents.items():
        text = path.read_text(encoding="utf-8")
        page = Page(path)
        assert page.wrong == [] and page.open == [], (name, page.wrong, page.open)
        # A sheet is written on: it has its script and its data; the others have neither.
        scripts = 2 if name.endswith(tuple(f" {s.name}" for s in SHEETS)) else 0
        assert page.tags["script"] == scripts, name
        assert page.tags["link"] == page.tags["img"] == 0, name
        assert page.tags["h1"] == 1 and page.tags["main"] == 1 and page.language == "en-GB", name
        assert not re.search(r"url\(|@import|<[^>]*\s(src|on[a-z]+)=", text), name
        assert len(set(page.ids)) == len(page.ids), name
        for link in page.links:
            assert link.startswith("#") and link[1:] in page.ids, (name, link)


def test_hostile_text_is_shown_and_never_run(documents: dict[str, Path]) -> None:
    for name in ("brew-day", "record"):
        text = documents[f"2026-02 {name}"].read_text(encoding="utf-8")
        assert text.count("<script") == (2 if name == "brew-day" else 0)
        assert html.escape("<script>alert(1)</script>") in text and "{{ 7*7 }}" in text


def test_a_sheet_printed_from_a_browser_has_blanks(
    documents: dict[str, Path], tmp_path: Path
) -> None:
    import pdfplumber

    target = tmp_path / "sheet.pdf"
    target.write_bytes(as_pdf(documents["2026-01 brew-day"]))
    with pdfplumber.open(target) as pdf:
        text = "\n".join(page.extract_text() for page in pdf.pages)
        boxes = [
            r for page in pdf.pages for r in (*page.rects, *page.curves)
            if abs(r["width"] * 25.4 / 72 - 30) < 1 and abs(r["height"] * 25.4 / 72 - 12) < 1
        ]
    for said in ("Strike temperature", "65.5", "T1", "Hold point before the boil", "Yeast pitched"):
        assert said in text, said
    # The next reading is large on a screen only, and what leads about a page is not printed.
    assert "Next:" not in text
    assert len(boxes) >= 20
