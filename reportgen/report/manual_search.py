"""The index that the manual's pages are searched by: made when they are, kept in the page itself.

A page opened from a folder may load no file beside it, so the index stands in the search page. It
has each place with a name of its own: where it is, what it is called, and its words once.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from html.parser import HTMLParser

from markupsafe import Markup

HEADINGS = ("h1", "h2", "h3", "h4", "dt", "caption")
"""What names a place: the first of these in it."""

SILENT = ("style", "script", "nav", "header", "footer", "title")
WORD = re.compile(r"[^\W_]+(?:[-_'’.][^\W_]+)*")


class _Places(HTMLParser):
    """Collects the places of a page: anchor, name and text of each, in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.places: list[tuple[str, list[str], list[str]]] = []
        self._silent = 0
        self._heading = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in SILENT:
            self._silent += 1
        anchor = dict(attrs).get("id")
        if anchor and not self._silent:
            self.places.append((anchor, [], []))
        if tag in HEADINGS and self.places and not self.places[-1][1]:
            self._heading = tag

    def handle_endtag(self, tag: str) -> None:
        if tag in SILENT:
            self._silent -= 1
        if tag == self._heading:
            self._heading = ""

    def handle_data(self, data: str) -> None:
        if self.places and not self._silent:
            _, name, text = self.places[-1]
            if self._heading:
                name.append(data)
            text.append(data)


def words_of(text: str) -> list[str]:
    """Return the words of a text in small letters, each once, in order; parts of keys as well."""
    words: dict[str, None] = {}
    for match in WORD.finditer(text.lower()):
        words[match[0]] = None
        words.update(dict.fromkeys(part for part in re.split(r"[_.-]", match[0]) if len(part) > 1))
    return list(words)


def places(pages: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    """Yield the address, the name and the words of each named place of some pages."""
    for file, text in pages.items():
        for number, (anchor, name, said) in enumerate(_Places(text).places):
            title = " ".join("".join(name).split())
            if title:
                address = f"{file}#{anchor}" if number else file
                yield address, title, " ".join(words_of(" ".join(said)))


def index_of(pages: Mapping[str, str], titles: Mapping[str, str]) -> Markup:
    """Return the index as JSON that may stand in a page: file, its title, then its places.

    ``titles`` are those of the pages, by file name.
    """
    index: dict[str, list[list[str]]] = {}
    for address, name, words in places(pages):
        file, _, anchor = address.partition("#")
        index.setdefault(file, []).append([anchor, name, words])
    data = [[file, titles[file], entries] for file, entries in index.items()]
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    # Nothing in it may end the element that it stands in.
    return Markup(text.replace("<", "\\u003c"))
