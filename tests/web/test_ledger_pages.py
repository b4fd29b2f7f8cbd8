"""The ledger's pages: whole without script, sorted and searched with it, on phone and paper."""

from __future__ import annotations

import html
import re
from pathlib import Path
from urllib.parse import quote_plus, unquote, urlparse

import pytest
from asked_pages import Page, written
from browser import as_pdf, ask
from houses import house, inside
from synthetic_archive import make_archive

EVIL = '<script>alert(1)</script> & "quoted" {{ 7 * 7 }}'
LONG = "Donaudampfschifffahrtsgesellschaftskapitänsmützenbier" * 2


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The pages of seven batches of the synthetic house."""
    folder = tmp_path_factory.mktemp("plain") / "house"
    make_archive(folder, 7, seed=3)
    return written(folder)


@pytest.fixture(scope="module")
def nasty(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The pages of a house with hostile and endless texts, a circle, a batch not to be read."""
    folder = tmp_path_factory.mktemp("nasty") / "house"
    quoted = EVIL.replace("'", "''")
    house(
        folder,
        {
            "2026-01": f"name: '{quoted}'\n"
            "plan: {pitch: {yeast: ale, harvested_from: 2026-02, generation: 1}}\n"
            f"review: {{learned: '{quoted}', silenced: [{{check: mash-too-thin, "
            f"because: '{quoted}'}}]}}",
            "2026-02": f"name: {LONG}\nplan: {{pitch: {{yeast: ale, harvested_from: 2026-01}}, "
            f"grist: [{{malt: pale, amount: 7 kg, lot: {LONG}}}]}}\n"
            f"review: {{deviations: [{{figure: {LONG}, what: '{quoted} {LONG}', "
            "severity: critical}]}",
            "A.b_c-1": "{}",
        },
    )
    (folder / "2026" / "bad one.yaml").write_text("format: 1\nbatch: [\n", encoding="utf-8")
    return written(folder)


@pytest.mark.parametrize("which", ["plain", "nasty"])
def test_every_page_is_sound_and_every_link_leads_somewhere(
    which: str, request: pytest.FixtureRequest
) -> None:
    found: dict[str, Path] = request.getfixturevalue(which)
    for name, path in found.items():
        page = Page(path)
        assert page.wrong == [] and page.open == [], (name, page.wrong, page.open)
        assert page.tags["h1"] == 1 and page.tags["title"] >= 1 and page.language, name
        assert len(set(page.ids)) == len(page.ids), name
        # One stylesheet and one script, both the ledger's own; nothing from elsewhere.
        assert len(page.loads) == 2, name
        for link in (*page.links, *page.loads):
            address = urlparse(link)
            assert not address.scheme and not address.netloc, (name, link)
            if not address.path:
                assert address.fragment in page.ids, (name, link)
                continue
            target = (path.parent / unquote(address.path)).resolve()
            # Documents, the printed list and the tables are made beside the pages, not by them.
            documents = target.parent.name in ("sheets", "records")
            beside = target.name in ("ledger.pdf", "ledger.csv", "ledger.json")
            made_by_build = (documents and target.suffix in (".pdf", ".html")) or beside
            assert target.is_file() or made_by_build, (name, link)


def test_hostile_text_is_shown_and_never_run(nasty: dict[str, Path]) -> None:
    for name, path in nasty.items():
        text = path.read_text(encoding="utf-8")
        assert "alert(1)</script>" not in text, name
        assert len(re.findall(r"<script\b", text)) == 1, name
        assert "49" not in re.findall(r"quoted&#34; (\S+)", text), name
    shown = nasty["batch/2026-01.html"].read_text(encoding="utf-8")
    assert html.escape("<script>alert(1)</script>") in shown
    assert "{{ 7 * 7 }}" in shown


def test_what_is_open_missing_or_in_a_circle_stands_on_its_page(nasty: dict[str, Path]) -> None:
    index = nasty["index.html"].read_text(encoding="utf-8")
    assert "bad one" in index and "1 deviation open" in index
    # The beers come first: of open deviations there is a count that leads to their page.
    assert '<a href="findings.html"><strong>Open deviations: 1</strong></a>' in index
    assert "critical" in nasty["findings.html"].read_text(encoding="utf-8")
    assert "round in a circle" in nasty["yeast.html"].read_text(encoding="utf-8")
    assert "not in stock.yaml" in nasty["lots.html"].read_text(encoding="utf-8")
    assert "bad one.yaml" in nasty["findings.html"].read_text(encoding="utf-8")


def test_everything_is_there_without_script(plain: dict[str, Path]) -> None:
    batches = [name for name in plain if name.startswith("batch/")]
    index = plain["index.html"].read_text(encoding="utf-8")
    assert len(batches) == 7 and all(f'href="{name}"' in index for name in batches)
    assert "<button" not in index and "<input" not in index
    # Each value of the own history stands in a table, not only in a drawing.
    history = Page(plain["history.html"])
    assert history.tags["svg"] >= 8 and history.tags["table"] >= history.tags["svg"]


QUESTION = """
    var root = document.documentElement;
    document.querySelectorAll('details').forEach(function (d) { d.open = true; });
    var small = [], wide = [];
    document.querySelectorAll('a, button, input, select, summary').forEach(function (e) {
      var box = e.getBoundingClientRect();
      if (e.className === 'skip' || box.width === 0) return;
      if (box.width < 44 || box.height < 44)
        small.push([e.tagName, e.textContent.slice(0, 40), box.width, box.height]);
      if (box.right > root.clientWidth + 0.5) wide.push(e.textContent.slice(0, 40));
    });
    return {scroll: root.scrollWidth, client: root.clientWidth, small: small, wide: wide,
            buttons: document.querySelectorAll('thead button').length};
"""


@pytest.mark.parametrize("width", [360, 1000, 1300])
def test_no_page_scrolls_sideways_and_targets_are_large(
    width: int, plain: dict[str, Path], nasty: dict[str, Path], tmp_path: Path
) -> None:
    both = {f"plain {n}": p for n, p in plain.items() if not n.startswith("batch/2020-00")}
    both["plain batch"] = plain["batch/2020-001.html"]
    both |= {f"nasty {n}": p for n, p in nasty.items()}
    archive = nasty["index.html"].parents[2]
    done = inside("compare", "2026-01", "2026-02", "--page", cwd=archive)
    assert done.returncode == 0, done.stderr
    both["nasty comparison"] = archive / done.stdout.strip()
    for name, answer in ask(both, tmp_path, QUESTION, width).items():
        assert answer["client"] <= width, name
        assert answer["scroll"] <= answer["client"], (name, answer)
        assert answer["small"] == [] and answer["wide"] == [], (name, answer)


SORTING = """
    function column(n) {
      return Array.prototype.map.call(document.querySelector('#batches').tBodies[0].rows,
        function (r) { return r.hidden ? null : r.cells[n].textContent; });
    }
    var table = document.querySelector('#batches');
    var head = table.tHead.rows[0].cells[5];
    var answer = {printed: column(0)};
    head.querySelector('button').click();
    answer.rising = column(5); answer.sorted = head.getAttribute('aria-sort');
    head.querySelector('button').click();
    answer.falling = column(5);
    var choice = document.querySelector('.tools select');
    choice.value = ''; choice.dispatchEvent(new Event('change'));
    answer.again = column(0); answer.unsorted = head.getAttribute('aria-sort');
    var field = document.querySelector('.tools input');
    field.value = '2020-003'; field.dispatchEvent(new Event('input'));
    answer.found = column(0).filter(Boolean);
    answer.status = document.querySelector('.tools .shown').textContent;
    field.value = 'no such beer'; field.dispatchEvent(new Event('input'));
    answer.none = column(0).filter(Boolean);
    return answer;
"""


def test_sorting_and_finding(plain: dict[str, Path], tmp_path: Path) -> None:
    (answer,) = ask({"index": plain["index.html"]}, tmp_path, SORTING, 1300).values()
    assert answer["printed"] == [f"2020-00{n}" for n in range(7, 0, -1)]
    rising = [float(text) for text in answer["rising"]]
    assert rising == sorted(rising) and len(set(rising)) > 1 and answer["sorted"] == "ascending"
    assert [float(text) for text in answer["falling"]] == sorted(rising, reverse=True)
    assert answer["again"] == answer["printed"] and answer["unsorted"] is None
    assert answer["found"] == ["2020-003"] and answer["status"] == "1 of 7 shown"
    assert answer["none"] == []


KEPT = """
    function column(n) {
      return Array.prototype.map.call(document.querySelector('#batches').tBodies[0].rows,
        function (r) { return r.hidden ? null : r.cells[n].textContent; }).filter(Boolean);
    }
    var heads = Array.prototype.map.call(document.querySelector('#batches').tHead.rows[0].cells,
      function (c) { return c.textContent; });
    var field = document.querySelector(".tools input");
    var choice = document.querySelector(".tools select");
    field.value = '2020-00'; field.dispatchEvent(new Event('input'));
    choice.value = '5 down'; choice.dispatchEvent(new Event('change'));
    var answer = {heads: heads, address: location.hash, view: column(5)};
    choice.value = ''; choice.dispatchEvent(new Event('change'));
    field.value = ''; field.dispatchEvent(new Event('input'));
    answer.empty = location.hash;
    // The same address, as it is opened from a bookmark.
    return new Promise(function (done) {
      window.addEventListener('hashchange', function () {
        answer.again = column(5); answer.field = field.value; answer.choice = choice.value;
        location.hash = '#batches.find=x%26y&batches.sort=No+such+column+up';
        setTimeout(function () {
          answer.none = column(0); answer.unsorted = choice.value; done(answer);
        }, 50);
      }, {once: true});
      location.hash = answer.address;
    });
"""


def test_a_view_can_be_kept_by_its_address(plain: dict[str, Path], tmp_path: Path) -> None:
    (answer,) = ask({"index": plain["index.html"]}, tmp_path, KEPT, 1300).values()
    head = quote_plus(answer["heads"][5])
    assert answer["address"] == f"#batches.find=2020-00&batches.sort={head}+down"
    assert answer["empty"] == ""
    assert answer["again"] == answer["view"] and len(answer["again"]) == 7
    assert (answer["field"], answer["choice"]) == ("2020-00", "5 down")
    assert answer["none"] == [] and answer["unsorted"] == ""


def test_the_pages_print(plain: dict[str, Path], tmp_path: Path) -> None:
    import pdfplumber

    target = tmp_path / "index.pdf"
    target.write_bytes(as_pdf(plain["index.html"]))
    with pdfplumber.open(target) as pdf:
        text = "\n".join(page.extract_text() for page in pdf.pages)
    for n in range(1, 8):
        assert f"2020-00{n}" in text
    # It is a table: a batch and its figures on one line, under heads, and no word is broken.
    with pdfplumber.open(target) as pdf:
        lines = [line for page in pdf.pages for line in page.extract_text().splitlines()]
        over = [w for p in pdf.pages for w in p.extract_words() if w["x1"] > p.width]
        assert over == []
    (line,) = (line for line in lines if line.startswith("2020-003"))
    assert len(re.findall(r"\d+\.\d", line)) >= 3, line
    page_words = set(re.findall(r"[^\W\d_]{3,}", plain["index.html"].read_text(encoding="utf-8")))
    assert set(re.findall(r"[^\W\d_]{3,}", text)) <= page_words
    # What only a screen can use is not printed.
    assert "Find batches" not in text and "Sort by" not in text
