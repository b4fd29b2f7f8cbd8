"""The brewer's free text: Markdown to HTML that shows everything and fetches nothing.

Raw HTML is shown as typed. An image is named, never loaded; a link is printed with its address,
never active. Headings become bold paragraphs, so that they cannot disturb the document's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token


def _link_close(renderer: Any, tokens: Sequence[Token], index: int, *_: Any) -> str:
    depth = 0
    for token in reversed(tokens[:index]):
        if token.type == "link_close":
            depth += 1
        elif token.type == "link_open":
            if depth == 0:
                return f" ({escape(str(token.attrs.get('href', '')))})"
            depth -= 1
    return ""


def _image(renderer: Any, tokens: Sequence[Token], index: int, *_: Any) -> str:
    token = tokens[index]
    return str(escape(f"[image: {token.content}, {token.attrs.get('src', '')}]"))


@lru_cache(maxsize=1)
def _parser() -> MarkdownIt:
    from markdown_it import MarkdownIt

    parser = MarkdownIt("commonmark", {"html": False})
    # Every address is printed as text, so none needs to be refused.
    parser.validateLink = lambda url: True  # type: ignore[method-assign]
    parser.add_render_rule("link_open", lambda *_: "")
    parser.add_render_rule("link_close", _link_close)
    parser.add_render_rule("image", _image)
    parser.add_render_rule("heading_open", lambda *_: "<p><strong>")
    parser.add_render_rule("heading_close", lambda *_: "</strong></p>")
    parser.add_render_rule("hr", lambda *_: "")
    return parser


def to_html(text: str | None) -> Markup:
    """Return Markdown as safe HTML; empty for no text."""
    if not text or not text.strip():
        return Markup("")
    return Markup(_parser().render(text).strip())


def to_line(text: str | None) -> str:
    """Return Markdown as one run of plain text, each of its blocks ended by a stop.

    For where there is room for a line or two: a list would take one for each of its items.
    """
    parser, blocks = _parser(), []
    for token in parser.parse(text or ""):
        if token.type == "inline" and token.children is not None:
            html = parser.renderer.render(token.children, parser.options, {})
            blocks.append(Markup(html).striptags())
        elif token.type in ("fence", "code_block"):
            blocks.append(" ".join(token.content.split()))
    written = [block for block in blocks if block]
    stopped = (block if block[-1] in ".!?:;,\u2026" else f"{block}." for block in written[:-1])
    return " ".join((*stopped, *written[-1:]))
