"""Every blank of the paper sheets is an input of the page, and the other way round.

Both come from the same rows and blanks; this reads the paper as it is set and the data that the
page is given, and holds one against the other, with a short list of what differs and why.
"""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from five_houses import HOUSES, write

from reportgen.assessment.assess import Assessment, assess
from reportgen.record.load import load_archive
from reportgen.report.documents import SHEETS, Document
from reportgen.report.render import SCREEN, html
from reportgen.report.written_readings import Readings

DEMO = Path(__file__).parents[2] / "batches"
BATCHES = sorted(path.stem for path in DEMO.glob("20*/*.yaml"))
WRITTEN = [sheet for sheet in SHEETS if sheet.name != "tasting"]

ONLY_ON_PAPER = {
    "Samples at": "the page asks for the temperature beside each reading",
    "Kettle at": "the same",
    "+ min": "a sum of times: the page has a clock that rings",
    "Brewer": "who writes is asked once, at the head of the page",
    "Pitched": "in the record from the brew day",
    "Date": "asked once, at the head of the page",
    "Name": "a signature is for paper; the page writes initials beside each entry",
}
"""Blanks of the paper without an input, by their words, with the reason."""

ONLY_ON_THE_PAGE = {
    "fermentation.finished": "on paper it is the date of the last row",
    "packaging.packaged_by": "on paper the signature",
}
"""Inputs that the paper has no blank for, with the reason."""

# What stands in the column beside is not asked for: the page corrects a reading itself, and the
# record names the scale once.
BLANKS = {
    "box-reading": "number", "box-time": "time", "box-initials": "by", "box-correction": "",
    "box-clock": "time", "box-until": "time", "strip-box": "any", "clock-box": "any",
    "fact-blank": "", "went-line": "", "label-here": "any", "remarks-head": "any", "line": "",
}  # fmt: skip
KINDS = {
    "number": ("main", "digits", "count"), "time": ("time", "moment"),
    "by": ("choice", "short"), "lot": ("short",),
}  # fmt: skip
VOID = ("br", "meta", "path", "line", "rect", "circle", "polyline")


class Paper(HTMLParser):
    """Gathers the blanks of a sheet: those within a place of the record, and the words of others.

    ``found`` has the kinds of blank of each place, ``loose`` the classes of those in none.
    """

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: dict[str, list[str]] = {}
        self.loose: list[tuple[str, str]] = []
        self.twice: set[str] = set()
        self.open: list[tuple[str, str]] = []
        self.words = ""
        self.head = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        place = given.get("data-write") or (self.open[-1][1] if self.open else "")
        if tag not in VOID:
            self.open.append((tag, place))
        if given.get("data-write"):
            self.found.setdefault(place, [])
        classes = (given.get("class") or "").split()
        # A line is one to sign on; only a signature has any.
        for name in classes:
            if name not in BLANKS or (name == "line" and tag == "div"):
                continue
            if place:
                self.found[place].append(name)
            else:
                self.loose.append((name, given.get("data-blank") or self.words))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        before = len(self.open)
        self.handle_starttag(tag, attrs)
        del self.open[before:]

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.words = data.strip()
            if self.open and "×2" in data and self.open[-1][1]:
                self.twice.add(self.open[-1][1])


def of_paper(document: Document, batch: Assessment, paper: str) -> Paper:
    view = document.view(batch, paper, 1)
    return Paper(html(document.template, view, paper, Path(batch.archive.root)))


def of_page(document: Document, batch: Assessment, paper: str) -> dict[str, list[dict[str, Any]]]:
    """Return the parts at each place that the page really has."""
    assert document.written is not None
    view = document.view(batch, paper, 1)
    written = document.data(batch, view)
    data = json.loads(written)
    root = Path(batch.archive.root)
    text = html(document.template, view, paper, root, SCREEN, written)
    places = set(re.findall(r'data-write="([^"\']+)"', text))
    found: dict[str, list[dict[str, Any]]] = {}
    for field in data["fields"]:
        for part in field.get("parts", ()):
            at = part.get("at", field.get("at", ""))
            if at in places:
                found.setdefault(at, []).append(part)
    assert places <= set(found), places - set(found)
    return found


def held(document: Document, batch: Assessment, paper: str) -> None:
    """Hold the blanks of a sheet against the inputs of its page."""
    sheet, page = of_paper(document, batch, paper), of_page(document, batch, paper)
    assert set(sheet.found) - set(page) == set()
    assert set(page) - set(sheet.found) <= set(ONLY_ON_THE_PAGE)
    for place, blanks in sheet.found.items():
        made = {part["is"] for part in page[place]}
        for blank in blanks:
            wanted = BLANKS[blank]
            if place.startswith("w:") and blank == "box-time":
                wanted = "lot"
            if wanted == "any":
                assert made, (place, blank)
            elif wanted and not (blank == "box-initials" and place[:2] == "a:"):
                assert made & set(KINDS[wanted]), (place, blank, made)
        assert place not in sheet.twice or any(p["name"] == "again" for p in page[place]), place
    for blank, words in sheet.loose:
        said = re.sub(r"[\d\s]+", " ", words)
        # What the tables put in has a line for it on paper, and a button on the page.
        known = blank == "went-line" or any(said.startswith(one) for one in ONLY_ON_PAPER)
        assert known, (document.name, blank, words)


@pytest.fixture
def without_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    """What decides a verdict is not asked for here, and takes the time."""
    monkeypatch.setattr(
        Readings, "of", lambda self, figure, raw: [{"name": "", "table": "", "edges": []}]
    )


@pytest.fixture(scope="module")
def demo() -> Any:
    return load_archive(DEMO)


@pytest.mark.usefixtures("without_numbers")
@pytest.mark.parametrize("batch", BATCHES)
def test_of_each_demo_batch(batch: str, demo: Any) -> None:
    found = assess(demo, demo.batches[batch])
    assert found is not None
    for document in WRITTEN:
        held(document, found, "A4")


@pytest.mark.usefixtures("without_numbers")
@pytest.mark.parametrize("name", HOUSES)
def test_of_five_houses(name: str, tmp_path: Path) -> None:
    archive = load_archive(write(tmp_path / "house", HOUSES[name]))
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None
    for document in WRITTEN:
        held(document, found, HOUSES[name].paper)


def test_an_amount_of_yeast_in_litres_has_no_sample_and_no_table(tmp_path: Path) -> None:
    """Of 500 L it is printed in litres, as a volume is; its limits decide as of any reading."""
    root = write(tmp_path / "house", HOUSES["big"])
    record = root / "2026/2026-01.yaml"
    text = record.read_text(encoding="utf-8")
    limits = "plan:\n  tolerances:\n    yeast_amount: 0.5 L\n"
    record.write_text(text.replace("plan:\n", limits), encoding="utf-8")
    archive = load_archive(root)
    found = assess(archive, archive.batches["2026-01"])
    assert found is not None and archive.findings == ()
    sheet = next(s for s in WRITTEN if s.name == "brew-day")
    assert sheet.written is not None
    data = json.loads(sheet.data(found, sheet.view(found, "Letter", 1)))
    (field,) = (f for f in data["fields"] if f["id"] == "brew_day.pitch.yeast_amount")
    (kettle,) = (f for f in data["fields"] if f["id"] == "brew_day.run_off.kettle_volume")
    assert [way["table"] for way in field["with"]] == [""]
    assert len(field["with"][0]["edges"][0]) == 4 and kettle["with"][0]["table"]
