"""The ledger's pages, read back, and what the browser is asked of every page."""

from __future__ import annotations

from collections import Counter
from html.parser import HTMLParser
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from browser import ask

from reportgen.archive.links import links_of
from reportgen.archive.summaries import CACHE, SummaryIndex, survey
from reportgen.history.series import history_of
from reportgen.report.ledger import LedgerData, left_out
from reportgen.report.ledger_files import pages


def written(folder: Path) -> dict[str, Path]:
    """Write the pages of an archive and return them by name."""
    found = survey(folder, folder / "build", lambda done, total: None, keep=True)
    brewery, stock = found.register.brewery, found.register.stock
    assert brewery is not None and stock is not None
    data = LedgerData(
        found.register, brewery, stock, links_of(found.register), found.rows,
        SummaryIndex(folder / "build" / CACHE), left_out(found.register, found.lost),
        history_of(found.rows, brewery, stock),
    )  # fmt: skip
    result = {}
    for page in pages(data):
        path = folder / "build" / page.name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(page.data)
        if page.name.endswith(".html"):
            result[page.name.removeprefix("ledger/")] = path
    return result


class Page(HTMLParser):
    """What the tests want to know of a page."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.tags: Counter[str] = Counter()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.ids: list[str] = []
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.language = ""
        self.feed(path.read_text(encoding="utf-8"))

    VOID = ("meta", "link", "br", "path", "rect", "circle", "input", "col")

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        given = dict(attrs)
        if tag == "a":
            self.links.append(given.get("href") or "")
        if tag in ("script", "img", "iframe"):
            self.loads.append(given.get("src") or "")
        if tag == "link":
            self.loads.append(given.get("href") or "")
        if given.get("id"):
            self.ids.append(given["id"] or "")
        if tag == "html":
            self.language = given.get("lang") or ""
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open[-1] != tag:
            self.wrong.append(f"</{tag}> within {self.open[-3:]}")
        else:
            self.open.pop()


TARGETS = """
    var root = document.documentElement, small = [], wide = [], pale = [];
    document.querySelectorAll('a, input, label, summary, button').forEach(function (e) {
      var box = e.getBoundingClientRect();
      if (e.className === 'skip' || box.width === 0) return;
      // What the finger meets is the label around a mark of a scale.
      if (e.type === 'radio') return;
      if (box.width < 44 || box.height < 44)
        small.push([e.tagName, e.textContent.slice(0, 40), box.width, box.height]);
      if (box.right > root.clientWidth + 0.5) wide.push(e.textContent.slice(0, 40));
    });
    document.querySelectorAll('main *').forEach(function (e) {
      if (e.closest('.drawing, .boxes') || e.getBoundingClientRect().width === 0) return;
      if (e.getBoundingClientRect().right > root.clientWidth + 0.5)
        wide.push([e.tagName, e.textContent.slice(0, 40)]);
    });
    return {scroll: root.scrollWidth, client: root.clientWidth, small: small, wide: wide};
"""


AXE = """
    return axe.run(document, {%sresultTypes: ['violations']}).then(function (found) {
      return found.violations.map(function (v) {
        return v.id + ': ' + v.nodes.slice(0, 3).map(function (n) { return n.html; }).join(' | ');
      });
    });
"""


def axe() -> Path:
    """Return the accessibility checker's script, which comes in a package."""
    spec = find_spec("axe_core_python")
    if spec is None or spec.origin is None:
        pytest.skip("axe-core-python is not installed")
    return Path(spec.origin).with_name("axe.min.js")


SCHEMES = {"light": "", "dark": "runOnly: ['color-contrast', 'link-in-text-block'], "}
"""What the reader may have chosen, and what is asked then: only colours are others in the dark."""


def violations(
    pages: dict[str, Path], folder: Path, width: int, scheme: str = "light"
) -> dict[str, Any]:
    """Return what the checker holds against each page, contrast and all, in one scheme."""
    asked = f"matchMedia('(prefers-color-scheme: {scheme})').matches"
    question = f"if (!{asked}) return ['not the scheme asked for'];{AXE % SCHEMES[scheme]}"
    found = ask(pages, folder, question, width, axe(), scheme)
    return {name: wrong for name, wrong in found.items() if wrong}
