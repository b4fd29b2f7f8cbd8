"""Hostile text in every free field of an archive: shown as text in every document, nothing more."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
import yaml

from reportgen.assessment.assess import Assessment, assess
from reportgen.loading import load_archive
from reportgen.record.finding import Severity
from reportgen.report import pdf
from reportgen.report.documents import ALL
from reportgen.report.markdown import to_html

DEMO = Path(__file__).parents[2] / "batches"
BATCH = "2026/2026-03.yaml"
HOSTILE = (
    "<script>alert(7*7)</script>",
    "</style><style>*{background:url(http://x.invalid/a)}",
    "'\"><img src=x onerror=alert(1)>",
    "{{ 7*7 }}{% include '../../brewery.yaml' %}",
    "![i](file:///etc/passwd)[l](javascript:alert(1))",
    "}; @import url(//x.invalid/b.css); /*",
    "&lt;b&gt;&#x202e;",
    "<a href='data:text/html,x'>x</a><iframe src=/etc/passwd></iframe>",
)
LENGTH = len(" ".join(HOSTILE))
PLAIN = ("harmless words " * 99)[:LENGTH].strip().ljust(LENGTH, "s")
"""As long as the hostile ones: long words may have another place on a sheet than short ones."""
FREE = {
    "name", "beer", "notes", "remarks", "note", "what", "cause", "effect", "correction", "learned",
    "corrective_action", "other_batches", "label", "because", "description", "check_note", "place",
    "supplier", "report", "liquor_note", "blind_code", "by", "typed_by", "checked_by", "closed_by",
    "packaged_by", "decided_by", "written_by", "lot",
}  # fmt: skip
"""Keys whose values are the writer's own words."""


def fill(tree: object, words: str) -> object:
    if isinstance(tree, dict):
        return {
            key: words if key in FREE and isinstance(value, str) else fill(value, words)
            for key, value in tree.items()
        }
    if isinstance(tree, list):
        return [fill(item, words) for item in tree]
    return tree


def archive_with(words: str, root: Path) -> Assessment:
    (root / "2026").mkdir()
    for name in ("brewery.yaml", "stock.yaml", BATCH):
        tree = fill(yaml.load((DEMO / name).read_text("utf-8"), yaml.BaseLoader), words)
        (root / name).write_text(
            yaml.safe_dump(tree, allow_unicode=True, sort_keys=False, width=10**6), "utf-8"
        )
    archive = load_archive(root)
    assert not [f for f in archive.findings if f.severity is Severity.ERROR], archive.findings
    found = assess(archive, next(iter(archive.batches.values())))
    assert found is not None
    return found


class Elements(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, tuple[tuple[str, str | None], ...]]] = []
        self.text = ""
        self.style = ""
        self.inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, tuple(attrs)))
        self.inside = tag

    def handle_endtag(self, tag: str) -> None:
        self.inside = ""

    def handle_data(self, data: str) -> None:
        if self.inside == "style":
            self.style += data
        else:
            self.text += data


def documents(batch: Assessment) -> dict[str, Elements]:
    """Return each document of a batch as a browser would take it apart, before it is a PDF."""
    found: dict[str, Elements] = {}
    current = ""

    def instead(html: str, **more: object) -> bytes:
        found[current] = Elements()
        found[current].feed(html)
        return b""

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pdf, "pdf", instead)
        for document in ALL:
            current = document.name
            if document.applies(batch):
                document.make(batch, "A4", 1)
    return found


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Elements]:
    return documents(archive_with(" ".join(HOSTILE), tmp_path_factory.mktemp("hostile")))


FORBIDDEN = {"script", "iframe", "object", "embed", "img", "link", "base", "a", "form", "video"}


def test_hostile_words_are_only_words(hostile: dict[str, Elements]) -> None:
    assert set(hostile) == {d.name for d in ALL}
    for name, elements in hostile.items():
        assert not {tag for tag, _ in elements.tags} & FORBIDDEN, name
        assert len([tag for tag, _ in elements.tags if tag == "style"]) == 1, name
        assert "x.invalid" not in elements.style, name
        for tag, attributes in elements.tags:
            for key, value in attributes:
                assert not key.startswith("on"), (name, tag, key)
                assert key not in ("src", "srcdoc", "action", "data", "href"), (name, tag, key)
                if key != "xmlns":
                    assert not re.search(r"javascript:|file:|http:|data:", value or ""), name
        # The name of the beer stands on every page, letter by letter.
        for words in HOSTILE:
            assert words in elements.text, (name, words)


def test_words_do_not_change_the_elements_around_them(
    hostile: dict[str, Elements], tmp_path: Path
) -> None:
    """Whatever the words are, the elements stay; Markdown may add its own within a line."""

    def shape(found: dict[str, Elements]) -> dict[str, list[str]]:
        inline = {"p", "strong", "em", "code", "br"}
        return {n: [tag for tag, _ in e.tags if tag not in inline] for n, e in found.items()}

    assert shape(documents(archive_with(PLAIN, tmp_path))) == shape(hostile)


@pytest.mark.parametrize(
    "text",
    [
        "<img src=http://x.invalid/a.png onerror=alert(1)>",
        "![a](http://x.invalid/a.png)",
        "![a](file:///etc/passwd)",
        "![a](data:image/png;base64,AAAA)",
        "![a](../../etc/passwd)",
        "[a](javascript:alert(1))",
        '[a](x "onmouseover=alert(1)")',
        "<https://x.invalid/>",
        "[a]: http://x.invalid/\n\n[a]",
        "```html\n<script>x</script>\n```",
        "<!-- comment --><style>*{}</style>",
        "&#60;script&#62;",
        "[![a](b)](javascript:x)",
    ],
)
def test_markdown_makes_no_active_element(text: str) -> None:
    html = str(to_html(text))
    elements = Elements()
    elements.feed(html)
    allowed = {"p", "strong", "em", "code", "pre", "ul", "ol", "li", "blockquote", "br"}
    assert {tag for tag, _ in elements.tags} <= allowed, html
    assert {key for _, attributes in elements.tags for key, _ in attributes} <= {"class", "start"}
    for address in re.findall(r"(?:https?|javascript|data|file):[^)>\s\"]+", text):
        assert address in elements.text, "the address is shown, not hidden"
