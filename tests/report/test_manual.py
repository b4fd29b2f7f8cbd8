"""The manual as a reader meets it: whole, every link alive, the same bytes anywhere, printable."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import os
import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from reportgen.checks.base import all_checks
from reportgen.cli import main
from reportgen.command_words import VERBS
from reportgen.forecast.figures import FIGURES
from reportgen.record.unit_table import UNITS
from reportgen.report import manual
from reportgen.report.documents import ALL
from reportgen.report.evidence import MARKS, check_values, topics
from reportgen.report.manual import book_view, manual_html, manual_pdf
from reportgen.report.manual_documents import documents, first_page
from reportgen.report.manual_guide import GUIDE, prose_page
from reportgen.report.manual_methods import models_of, reason_of, topic
from reportgen.report.manual_text import flow, number, prose, sentence, unit_sign, value_text
from reportgen.report.render import html
from reportgen.resources import schema_dir
from reportgen.science.method import METHODS, page

ROOT = Path(__file__).parents[2]
VOID = {"meta", "br", "wbr", "img", "input", "hr", "link"}


class Read(HTMLParser):
    """Collects ids, links and text of a page, and holds that its tags are balanced."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: set[str] = set()
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        assert self._open == []

    def handle_starttag(self, tag: str, attributes: Any) -> None:
        self.tags.add(tag)
        if tag not in VOID:
            self._open.append(tag)
        for key, value in attributes:
            if key == "id":
                self.ids.append(value)
            if key in ("href", "src"):
                self.links.append(value)

    def handle_endtag(self, tag: str) -> None:
        # A void element may be written closed, as XML wants it.
        if tag not in VOID:
            assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self._open[-1:] not in (["style"], ["script"]):
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def texts() -> dict[str, str]:
    return manual_html()


@pytest.fixture(scope="module")
def site(texts: dict[str, str]) -> dict[str, Read]:
    return {name: Read(text) for name, text in texts.items()}


def all_ids(site: dict[str, Read]) -> set[str]:
    return {one for read in site.values() for one in read.ids}


def test_every_calculation_stands_in_it_with_what_its_docstring_says(site: dict[str, Read]) -> None:
    assert set(METHODS) <= all_ids(site)
    for name in ("density.water_density", "mash_ph.charge_balance", "carbonation.gauge_pressure"):
        said = page(name)
        text = site[f"methods-{name.split('.')[0].replace('_', '-')}.html"].text
        assert " ".join(said.formula.replace("degC", "°C").split()) in text
        assert re.sub(r"\bdeg([CP])\b", r"°\1", said.source)[1:] in text
        for documented in said.inputs:
            assert documented.name.replace("_", " ") in text


def test_every_outside_check_value_is_shown_and_holds(site: dict[str, Read]) -> None:
    shown = 0
    for key in topics():
        for entry in topic(key).entries:
            known = check_values().get(entry.name, ())
            assert len(entry.values) == len(known)
            shown += len(known)
            for row, value in zip(entry.values, known, strict=True):
                assert row.mark in MARKS and row.source
                assert abs(value.computed() - value.expected) <= value.tolerance, entry.name
                number_given = float(row.gives.replace("\u2212", "-").replace(" × 10", "e"))
                assert number_given == pytest.approx(value.computed(), rel=0.06, abs=1e-5)
    assert shown >= 150
    # One of them by hand: the text has the number that was published and its source.
    text = site["methods-salts.html"].text
    assert "salt gypsum; grams 1; volume 3.785412 calcium 61.5 ± 0.05 61.497" in text


def test_competing_models_stand_side_by_side_with_a_reason(site: dict[str, Read]) -> None:
    import importlib

    with_models = 0
    for key in topics():
        module = importlib.import_module(f"reportgen.science.{key}")
        models = models_of(module)
        if not models:
            continue
        with_models += 1
        assert module.DEFAULT in models
        reason = reason_of(module)
        assert len(reason) > 40, f"{key}: no reason stands at DEFAULT"
        made = topic(key)
        assert [row.name for row in made.models if row.is_default] == [module.DEFAULT]
        assert {row.name for row in made.models} == set(models)
        text = site[f"{made.page}.html"].text
        assert "Models to choose from" in text and reason.split(". ")[0].split("`")[0] in text
    assert with_models >= 5


def test_every_check_has_its_page_and_its_line_in_the_index(site: dict[str, Read]) -> None:
    index = site["checks.html"]
    for name, check in all_checks().items():
        group = check.page.group.name.lower().replace("_", "-")
        assert f"checks-{group}.html#check-{name}" in index.links
        text = site[f"checks-{group}.html"].text
        assert " ".join(check.page.fails.split()) in text
        assert check.page.title in text


def test_every_field_of_the_schemas_stands_in_it(site: dict[str, Read]) -> None:
    ids = all_ids(site)
    for file in ("brewery", "stock", "record"):
        schema = json.loads((schema_dir() / f"{file}.json").read_text(encoding="utf-8"))
        text = site[f"record-{file}.html"].text
        for key, said in schema["properties"].items():
            assert f"{file}.{key}" in ids
            assert said["title"] in text
        for name, definition in schema["$defs"].items():
            if name.startswith("reading_") or name.removesuffix("Part") in set(schema["$defs"]) - {
                name
            }:
                continue
            for key in definition["properties"]:
                assert f"{file}.{name}.{key}" in ids, f"{file}: {name}.{key}"
    record = site["record-record.html"].text
    assert "plan.mash.rests[]" in record and "NOT RECORDED" in record
    assert re.search(r"volume Volume required", record)


def test_every_unit_and_every_figure_stands_in_it(site: dict[str, Read]) -> None:
    units, figures = site["units.html"].text, site["figures.html"].text
    for unit in UNITS:
        assert unit.name in units
    assert "US gal 3.78541178 L" in units
    assert "(number \u2212 32) × 5/9 °C" in units
    for key, figure in FIGURES.items():
        assert key in figures and figure.title in figures
    assert "mash_ph pH ± 0.15 brew_day.mash.mash_ph" in figures
    assert "last_runnings_gravity SG not below it" in figures
    assert "Alcohol by volume alcohol % ± 0.5 percentage points" in figures


def test_every_verb_and_every_option_stands_in_it(site: dict[str, Read]) -> None:
    text = site["commands.html"].text
    for verb, words in VERBS.items():
        assert f"commands.html#verb-{verb}" in site["commands.html"].links
        assert all(command in text for command, _ in words.examples)
    for option in ("--fail-on", "--format text|json|sarif|annotations", "--interval SECONDS"):
        assert option in text


def test_the_guide_has_what_a_newcomer_looks_for(site: dict[str, Read]) -> None:
    order = list(site)
    assert order[1] == "first-batch.html"
    for name, title, _ in GUIDE:
        assert title in site["index.html"].text
        assert len(prose_page(name).links) >= 6
    for word in ("liquor", "pitch", "too close to call", "residual alkalinity"):
        assert word in site["glossary.html"].text.lower()


def test_every_document_is_shown_with_a_picture_of_its_own(site: dict[str, Read]) -> None:
    assert [one.name for one in documents()] == [document.name for document in ALL]
    assert all(document.when and document.about for document in ALL)
    assert {one.picture for one in documents()} <= set(site["documents.html"].links)


def test_a_picture_is_the_first_page_as_it_prints() -> None:
    pil = pytest.importorskip("PIL.Image")
    book = manual_pdf("Letter", None, part("figures"))
    image = pil.open(io.BytesIO(first_page(book)))
    assert image.format == "PNG"
    assert image.width / image.height == pytest.approx(215.9 / 279.4, abs=0.002)
    # There is ink on it, and more paper than ink.
    dark = sum(count for count, level in image.convert("L").getcolors(256) if level < 128)
    assert 0.002 < dark / (image.width * image.height) < 0.5
    assert manual_pdf("Letter", None, part("figures")) == book


def test_the_book_has_the_pictures_of_its_folder(tmp_path: Path) -> None:
    pikepdf = pytest.importorskip("pikepdf")
    pdfua = pytest.importorskip("pdfua")
    dot = base64.b64decode(
        "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg=="
    )
    (tmp_path / "pictures").mkdir()
    for one in documents():
        (tmp_path / one.picture).write_bytes(dot)
    data = manual_pdf("A4", tmp_path, part("documents"))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        shown = [image for one in pdf.pages for image in one.get("/Resources")["/XObject"]]
    assert len(shown) >= 1
    (tmp_path / "book.pdf").write_bytes(data)
    found = pdfua.validate(str(tmp_path / "book.pdf")).findings
    assert [f"{f.rule_id}: {f.message}" for f in found] == []


def test_every_link_leads_somewhere_inside(site: dict[str, Read]) -> None:
    for name, read in site.items():
        assert len(read.ids) == len(set(read.ids)), name
        for link in read.links:
            file, _, anchor = link.partition("#")
            if file == manual.PDF or file in {one.picture for one in documents()}:
                continue
            assert file in site, f"{name}: {link}"
            assert not anchor or anchor in site[file].ids, f"{name}: {link}"


def test_every_page_can_be_reached_from_the_front(site: dict[str, Read]) -> None:
    reached, pending = set(), ["index.html"]
    while pending:
        name = pending.pop()
        if name in reached or name == manual.PDF or name.endswith(".png"):
            continue
        reached.add(name)
        pending += [link.split("#")[0] for link in site[name].links]
    assert reached == set(site)


def test_nothing_is_fetched_and_no_script_is_needed(
    site: dict[str, Read], texts: dict[str, str]
) -> None:
    for name, text in texts.items():
        # The search is by a script and says so; everything is on the other pages without one.
        assert ("script" in site[name].tags) == (name == "search.html"), name
        assert "[U+" not in site[name].text
        # An address in an example is text; nothing else may lead out, but to the own pictures.
        bare = re.sub(r"https://example\.org/|<img src=\"pictures/[a-z-]+\.png\"", "", text)
        for outside in ("http:", "https:", "url(", "@import", "src="):
            assert outside not in bare, f"{name}: {outside}"
        assert 'name="viewport" content="width=device-width' in text


def test_a_row_of_a_table_can_become_a_block_on_a_phone(texts: dict[str, str]) -> None:
    """Every cell that loses its column heading on a phone carries it as a label."""
    for name, text in texts.items():
        for table in re.findall(r'<table class="stack.*?</table>', text, re.S):
            for cell in re.findall(r"<td[^>]*>", table):
                assert "data-label=" in cell, name
        assert "<table>" not in text


HASH = """
import hashlib, sys
sys.path.insert(0, {root!r})
from reportgen.report.manual import manual_html
whole = "".join(name + text for name, text in manual_html().items())
print(hashlib.sha256(whole.encode()).hexdigest())
"""


def test_the_same_bytes_in_any_place_and_locale(tmp_path: Path, texts: dict[str, str]) -> None:
    whole = "".join(name + text for name, text in texts.items())
    environment = {**os.environ, "PYTHONHASHSEED": "4711", "TZ": "Pacific/Auckland", "LC_ALL": "C"}
    done = subprocess.run(
        [sys.executable, "-c", HASH.format(root=str(ROOT))],
        cwd=tmp_path, env=environment, capture_output=True, text=True, timeout=300, check=True,
    )  # fmt: skip
    assert done.stdout.strip() == hashlib.sha256(whole.encode()).hexdigest()


def part(*names: str) -> Any:
    view = book_view()
    return replace(view, pages=tuple(p for p in view.pages if p.name in names))


def test_what_is_looked_up_is_printed_when_asked_for_and_no_link_of_the_book_is_dead() -> None:
    short, whole = book_view(False), book_view()
    assert {"checks", "methods", "record-record", "first-batch"} <= short.names < whole.names
    assert {"checks-mash", "methods-density"} <= whole.names - short.names
    for view in (short, whole):
        text = html("manual", view, "A4")
        places = set(re.findall(r' id="([^"]+)"', text))
        assert set(re.findall(r'href="#([^"]+)"', text)) <= places
        assert ("manual --whole</code> prints them too" in text) is (view is short)


def test_the_book_is_a_tagged_pdf_with_an_outline(tmp_path: Path) -> None:
    pdfua = pytest.importorskip("pdfua")
    pikepdf = pytest.importorskip("pikepdf")
    pdfplumber = pytest.importorskip("pdfplumber")
    view = part("index", "methods-measurement", "figures")
    # The narrower paper.
    data = manual_pdf("A4", None, view)
    (tmp_path / "book.pdf").write_bytes(data)
    found = pdfua.validate(str(tmp_path / "book.pdf")).findings
    assert [f"{f.rule_id}: {f.message}" for f in found] == []
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert pdf.Root.MarkInfo.Marked
        assert str(pdf.docinfo.Title).startswith("Manual of reportgen")
        assert str(pdf.Root.Lang) == "en"
        with pdf.open_outline() as outline:
            titles = [item.title for item in outline.root]
        assert titles[:1] == ["Manual of reportgen"] and "The figures" in titles
        assert float(pdf.pages[0].MediaBox[2]) == pytest.approx(595.276, abs=0.1)
        uris = [
            note.A.URI
            for one in pdf.pages
            for note in one.get("/Annots", [])
            if "/A" in note and "/URI" in note.A
        ]
        assert uris == []
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        text = "\n".join(one.extract_text() for one in pdf.pages)
        for one in pdf.pages:
            right = max(c["x1"] for c in one.chars)
            assert right <= float(one.width) - 40, one.page_number
    assert "measurement.rectangular" in text and "brew_day.mash.mash_ph" in text
    assert "[U+" not in text
    # The contents give the page on which the chapter really begins.
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        front = "\n".join(one.extract_text() for one in pdf.pages[:2])
        told = int(re.search(r"The figures (\d+)", front)[1])  # type: ignore[index]
        assert pdf.pages[told - 1].extract_text().splitlines()[1] == "The figures"


def test_the_verb_writes_where_it_is_told(
    tmp_path: Path,
    texts: dict[str, str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    # The whole book takes a minute to set; what it holds is tested above.
    monkeypatch.setattr("reportgen.verbs.manual.manual_pdf", lambda paper, *_: paper.encode())
    monkeypatch.setattr("reportgen.verbs.manual.pictures", lambda: [("pictures/a.png", b"p")])
    monkeypatch.chdir(tmp_path)
    assert main(["manual", "--output", "here", "--paper", "Letter"]) == 0
    assert capsys.readouterr().out.splitlines() == ["here/index.html", "here/manual.pdf"]
    assert (tmp_path / "here/manual.pdf").read_bytes() == b"Letter"
    assert (tmp_path / "here/pictures/a.png").read_bytes() == b"p"
    written = {p.name: p.read_text(encoding="utf-8") for p in (tmp_path / "here").glob("*.html")}
    assert written == texts
    monkeypatch.setattr("reportgen.verbs.manual.manual_html", lambda: {"index.html": "short"})
    assert main(["manual"]) == 0
    assert (tmp_path / "build/manual/index.html").is_file()
    (tmp_path / "brewery.yaml").write_text("format: 1\n")
    (tmp_path / "2026").mkdir()
    monkeypatch.chdir(tmp_path / "2026")
    (tmp_path / "build/manual/index.html").unlink()
    assert main(["manual"]) == 0
    assert (tmp_path / "build/manual/index.html").is_file()
    assert list((tmp_path / "2026").iterdir()) == []


def test_the_manual_waits_for_another_run_that_writes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While it writes, another process finds the output folder of the archive taken."""
    fcntl = pytest.importorskip("fcntl")
    (tmp_path / "brewery.yaml").write_text("format: 1\n")
    monkeypatch.chdir(tmp_path)
    look = (
        "import fcntl, sys; handle = open(sys.argv[1], 'r+')\n"
        "try: fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)\n"
        "except OSError: print('taken')\n"
        "else: print('free')"
    )
    said: list[str] = []

    def asked() -> dict[str, str]:
        command = [sys.executable, "-c", look, str(tmp_path / "build/.lock")]
        said.append(subprocess.run(command, capture_output=True, text=True).stdout.strip())
        return {"index.html": "x"}

    monkeypatch.setattr("reportgen.verbs.manual.manual_html", asked)
    monkeypatch.setattr("reportgen.verbs.manual.pictures", list)
    monkeypatch.setattr("reportgen.verbs.manual.manual_pdf", lambda paper, *_: b"")
    assert main(["manual"]) == 0
    monkeypatch.undo()
    asked()
    assert said == ["taken", "free"]
    assert fcntl


def test_an_output_that_cannot_be_written_is_misuse(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "taken").write_text("a file")
    assert main(["manual", "--output", str(tmp_path / "taken")]) == 2
    assert "taken" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1.05, "1.05"),
        (-0.5, "\u22120.5"),
        (1e-9, "10⁻⁹"),
        (2.5e-7, "2.5 × 10⁻⁷"),
        (130.0, "130"),
        (1e6, "1000000"),
    ],
)
def test_numbers(value: float, text: str) -> None:
    assert number(value) == text


def test_words() -> None:
    assert sentence("pH units") == "pH units."
    assert sentence("exact") == "Exact."
    assert sentence("") == ""
    assert unit_sign("degC") == "°C" and unit_sign("1") == "" and unit_sign("kJ/kg") == "kJ/kg"
    assert prose("a `b<c` and ``d``") == "a <code>b&lt;c</code> and <code>d</code>"
    assert value_text([[0.4, {"calcium": 110}], [0.6, {}]]) == "(0.4, (calcium 110)), (0.6, ())"
    assert value_text(True) == "yes" and value_text(None) == "none"
    assert flow({"a": ["1.040", "x, y"], "b": "2026-03-15 18:00"}) == (
        '{a: [1.040, "x, y"], b: 2026-03-15 18:00}'
    )
