"""The chapters of the manual that are written, not read from the code: they stand as Markdown.

They lie in ``templates/manual/guide``. Code blocks without a language are commands to type, and a
test runs each of them on a copy of the demo archive.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from markupsafe import Markup
from msgspec import Struct

from reportgen.command_words import VERBS, by_use
from reportgen.commandline import parser
from reportgen.report.manual_text import ManualLink, prose, sentence
from reportgen.resources import templates_dir

GUIDE = (
    ("first-batch", "Your first batch", "From an empty folder to a record on paper."),
    ("recipes", "Recipes", "Common wishes, and what to type."),
    ("questions", "Questions and answers", "What brewers ask when the tool surprises them."),
)
MORE = (
    ("editor", "Editor, commits and CI", "Mistakes shown where you work."),
    ("security", "Security", "What you may rely on with files from anyone."),
    ("changes", "Changes", "What each version has brought."),
)
GLOSSARY = ("glossary", "The words", "")
"""Name of the file, title, lead."""


class GuideProse(Struct, frozen=True):
    """A written page, as it stands on the web and as it stands in the book.

    They differ in their links only: to another page there, to another place of the document here.
    """

    web: Markup
    book: Markup
    links: tuple[ManualLink, ...]


def prose_page(name: str) -> GuideProse:
    """Return a page of the guide by the name of its file."""
    text = (templates_dir() / "manual" / "guide" / f"{name}.md").read_text(encoding="utf-8")
    heads = re.findall(r"^## (.+)$", text, re.M)
    return GuideProse(
        _html(text, name, lambda page, anchor: f"{page}.html{anchor and '#'}{anchor}", ""),
        _html(text, name, lambda page, anchor: f"#{anchor or page}", "archive:/"),
        tuple(ManualLink(head.replace("`", ""), name, anchor_of(name, head)) for head in heads),
    )


def anchor_of(page: str, head: str) -> str:
    """Return the name of a place below a heading; no other page has one like it."""
    return f"{page}-" + re.sub(r"[^a-z0-9]+", "-", head.lower()).strip("-")


def _html(text: str, page: str, href: Callable[[str, str], str], pictures: str) -> Markup:
    from markdown_it import MarkdownIt

    parser = MarkdownIt("commonmark", {"html": False})
    tokens = parser.parse(text)
    for index, token in enumerate(tokens):
        if token.type == "heading_open":
            token.attrSet("id", anchor_of(page, tokens[index + 1].content))
        for child in token.children or ():
            if child.type == "link_open":
                to, _, anchor = str(child.attrs["href"]).partition("#")
                child.attrSet("href", href(to, anchor))
            if child.type == "image":
                child.attrSet("src", f"{pictures}{child.attrs['src']}")
    made: Any = parser.renderer.render(tokens, parser.options, {})
    made = made.replace("<p><img", '<p class="picture"><img')
    return Markup(re.sub(r' class="language-\w*"', "", made).strip())


class Verb(Struct, frozen=True):
    """The help page of a verb."""

    name: str
    line: str
    paragraphs: tuple[Markup, ...]
    usage: str
    options: tuple[tuple[str, str], ...]
    examples: tuple[tuple[str, str], ...]

    @property
    def anchor(self) -> str:
        """Name of the verb in the manual."""
        return f"verb-{self.name}"


def verbs() -> tuple[Verb, ...]:
    """Return every verb, read from the parser of the command line."""
    actions = parser()._actions
    subs: dict[str, Any] = next(a.choices for a in actions if isinstance(a.choices, dict))
    made = []
    for name in (name for names in by_use().values() for name in names):
        words = VERBS[name]
        options = tuple(
            (_written(action), sentence(str(action.help or "")))
            for action in subs[name]._actions
            if action.dest != "help"
        )
        positional = [_written(a) for a in subs[name]._actions if not a.option_strings]
        made.append(
            Verb(
                name,
                words.line,
                tuple(prose(part) for part in words.text.split("\n\n")),
                " ".join(["reportgen", name, "[OPTION…]", *positional]),
                options,
                words.examples,
            )
        )
    return tuple(made)


def _written(action: Any) -> str:
    """Return an option or argument as it is typed."""
    metavar = action.metavar
    if isinstance(metavar, tuple):
        metavar = " ".join(metavar)
    if not action.option_strings:
        word = str(metavar or action.dest.upper())
        many = {"*": f"[{word}…]", "+": f"{word}…", "?": f"[{word}]"}
        return many.get(action.nargs, word)
    value = metavar or ("|".join(map(str, action.choices)) if action.choices else "")
    if not value and action.nargs != 0:
        value = action.dest.upper()
    return " ".join(filter(None, [", ".join(action.option_strings), str(value)]))
