"""Templates, Markdown and addresses: strict, escaped, and nothing fetched."""

from __future__ import annotations

import datetime
import logging
import shutil
from pathlib import Path

import pytest
from houses import inside
from printed import ARCHIVE

from reportgen.assessment.assess import Assessment
from reportgen.report.batch_record import batch_record
from reportgen.report.cellar import cellar_sheet
from reportgen.report.fonts import printable
from reportgen.report.markdown import to_html, to_line
from reportgen.report.packaging import packaging_sheet
from reportgen.report.pdf import AddressRefused, pdf, resolve_inside
from reportgen.report.render import environment, html
from reportgen.report.sheet import brew_day_sheet
from reportgen.report.svg import Drawing, nice_ticks
from reportgen.report.tasting import tasting_sheet
from reportgen.report.template_fault import TemplateFault
from reportgen.report.weigh_out import weigh_out_sheet

VIEWS = {
    "weigh_out_sheet": weigh_out_sheet,
    "brew_day_sheet": brew_day_sheet,
    "cellar_sheet": cellar_sheet,
    "packaging_sheet": packaging_sheet,
    "tasting_sheet": tasting_sheet,
    "batch_record": batch_record,
}
DAY = datetime.date(2026, 3, 1)


@pytest.mark.parametrize("name", VIEWS)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_template_knows_every_name_it_uses(
    brewed: Assessment, hostile: Assessment, in_gallons: Assessment, name: str, paper: str
) -> None:
    for batch in (brewed, hostile, in_gallons):
        text = html(name, VIEWS[name](batch, paper), paper)
        assert f"size: {paper}" in text
        assert "<script" not in text


def test_every_template_is_used() -> None:
    folders = {name.split("/")[0] for name in environment(None).list_templates() if "/" in name}
    assert set(VIEWS) <= folders


def test_an_unknown_name_is_an_error(tmp_path: Path, brewed: Assessment) -> None:
    own = tmp_path / "templates" / "tasting_sheet"
    own.mkdir(parents=True)
    (own / "page.html.j2").write_text("{{ view.no_such_thing }}", encoding="utf-8")
    with pytest.raises(TemplateFault, match="tasting_sheet/page.html.j2:1: .*no_such_thing"):
        html("tasting_sheet", tasting_sheet(brewed, "A4"), "A4", tmp_path)


def test_an_archive_may_override_one_template(tmp_path: Path, brewed: Assessment) -> None:
    own = tmp_path / "templates"
    own.mkdir()
    (own / "tokens.css").write_text(":root { --ink: #000001; }", encoding="utf-8")
    view = tasting_sheet(brewed, "A4")
    assert "#000001" in html("tasting_sheet", view, "A4", tmp_path)
    assert "#000001" not in html("tasting_sheet", view, "A4")


def test_an_overriding_template_runs_in_a_sandbox(tmp_path: Path, brewed: Assessment) -> None:
    own = tmp_path / "templates" / "tasting_sheet"
    own.mkdir(parents=True)
    (own / "page.html.j2").write_text(
        "{{ view.identity.__class__.__mro__[1].__subclasses__() }}", encoding="utf-8"
    )
    with pytest.raises(TemplateFault, match="page.html.j2:1: "):
        html("tasting_sheet", tasting_sheet(brewed, "A4"), "A4", tmp_path)


FAULTS = {
    "tasting_sheet/page.html.j2": (
        '{% extends "base.html.j2" %}\n{% block body %}\n{{ view.nothing_here }}\n{% endblock %}',
        "templates/tasting_sheet/page.html.j2:3: ",
    ),
    "partials/pieces.html.j2": (
        "{% macro caution(c) %}\n\n{% if %}",
        "templates/partials/pieces.html.j2:3: ",
    ),
    "working.css": ("p { color: red }\n{% include 'gone.css' %}", "templates/working.css:2: "),
    "tokens.css": (":root { --ink: #000000; }\n\np { color red; }", "templates/tokens.css:3: "),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_wrong_template_is_told_with_file_and_line(tmp_path: Path, name: str) -> None:
    """One line, nothing written, exit code 2."""
    text, place = FAULTS[name]
    root = tmp_path / "house"
    shutil.copytree(ARCHIVE, root)
    file = root / "templates" / name
    file.parent.mkdir(parents=True)
    file.write_text(text, encoding="utf-8")
    done = inside("sheet", "2026/2026-01.yaml", cwd=root)
    assert done.returncode == 2
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"reportgen sheet: {place}"), line
    assert not list(root.rglob("*tasting*.pdf"))


def test_no_other_paper(brewed: Assessment) -> None:
    with pytest.raises(ValueError, match="A4, Letter"):
        html("tasting_sheet", tasting_sheet(brewed, "A4"), "A5; } body { color: red")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("<b>x</b>", "<p>&lt;b&gt;x&lt;/b&gt;</p>"),
        ("*a* **b**", "<p><em>a</em> <strong>b</strong></p>"),
        ("![x](file:///etc/passwd)", "<p>[image: x, file:///etc/passwd]</p>"),
        ("[x](javascript:alert(1))", "<p>x (javascript:alert(1))</p>"),
        ("<http://example.org>", "<p>http://example.org (http://example.org)</p>"),
        ("# Head", "<p><strong>Head</strong></p>"),
        ("- a\n- b", "<ul>\n<li>a</li>\n<li>b</li>\n</ul>"),
        ("", ""),
        ("{{ 7*7 }}", "<p>{{ 7*7 }}</p>"),
    ],
)
def test_markdown(text: str, shown: str) -> None:
    assert str(to_html(text)) == shown


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("- Mash **thicker**\n- Less\n  late hops.\n- Go", "Mash thicker. Less late hops. Go"),
        ("Too warm!\n\nCool first", "Too warm! Cool first"),
        ("# Next time\n1. `mash` [at](notes.txt) 64 C", "Next time. mash at (notes.txt) 64 C"),
        ("5 < 6 <b>raw</b> & more", "5 < 6 <b>raw</b> & more"),
        (None, ""),
    ],
)
def test_what_stands_in_a_line_or_two_shows_no_marks(text: str | None, line: str) -> None:
    assert to_line(text) == line


def test_missing_characters_are_written_as_their_code() -> None:
    assert printable("Å ½ 20 °C − → †") == "Å ½ 20 °C − → †"
    assert printable("a中b") == "a[U+4E2D]b"
    assert printable("🍺") == "[U+1F37A]"


@pytest.mark.parametrize(
    "address",
    ["file:///etc/passwd", "http://127.0.0.1:9/x.png", "https://example.org/x.png",
     "data:image/svg+xml,<svg/>", "archive:../secret.png", "ftp://example.org/x.png", "x.png"],
)
def test_nothing_outside_is_loaded(
    tmp_path: Path, address: str, caplog: pytest.LogCaptureFixture
) -> None:
    root = tmp_path / "archive"
    root.mkdir()
    (tmp_path / "secret.png").write_bytes(b"not for you")
    with caplog.at_level(logging.ERROR, "weasyprint"):
        data = pdf(
            f'<html lang="en"><title>t</title><p><img src="{address}" alt="a"></p>',
            title="t", identifier_source=b"", date=DAY, archive=root,
        )
    assert b"not for you" not in data
    assert any("Failed to load image" in r.getMessage() for r in caplog.records)


def test_an_image_of_the_archive_stays_inside_it(tmp_path: Path) -> None:
    root = tmp_path / "archive"
    root.mkdir()
    (root / "mash.png").write_bytes(b"x")
    (root / "notes.txt").write_bytes(b"x")
    (tmp_path / "out.png").write_bytes(b"x")
    (root / "link.png").symlink_to(tmp_path / "out.png")
    assert resolve_inside(root, "mash.png") == (root / "mash.png").resolve()
    for wrong in ("../out.png", "link.png", "notes.txt", "gone.png", "/etc/passwd"):
        with pytest.raises(AddressRefused):
            resolve_inside(root, wrong)


def test_drawings_are_the_same_each_time_and_say_what_they_show(brewed: Assessment) -> None:
    views = batch_record(brewed, "A4"), batch_record(brewed, "A4")
    drawn = [(v.fermentation, v.glass and v.glass.chart, *v.charts) for v in views]
    assert drawn[0] == drawn[1]
    assert [c and c.title for c in drawn[0]] == ["Fermentation", "From plan to glass", "Run-off"]
    for chart in drawn[0]:
        title = str(chart.svg).split("<title>")[1].split("</title>")[0]
        assert len(title) > 30


def test_words_in_a_drawing_are_escaped() -> None:
    drawing = Drawing(10, "a < b")
    drawing.words(0, 0, "<script>")
    assert "<script>" not in str(drawing.svg())
    assert "<title>a &lt; b</title>" in str(drawing.svg())


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        (0.0, 100.0, [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]),
        (1.007, 1.049, [1.0, 1.01, 1.02, 1.03, 1.04, 1.05]),
        (5.0, 5.0, [5.0, 5.2, 5.4, 5.6, 5.8, 6.0]),
    ],
)
def test_ticks_are_round_and_cover(low: float, high: float, ticks: list[float]) -> None:
    assert nice_ticks(low, high) == pytest.approx(ticks)
