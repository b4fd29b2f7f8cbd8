"""Pages are HTML and XML at once: read as XML they are the same tree."""

from __future__ import annotations

from xml.etree.ElementTree import Element

import pytest
import tinyhtml5
from printed import BREWED, HOSTILE, NAMES, assessed

from reportgen.report.documents import ALL
from reportgen.report.page_tree import page_tree
from reportgen.report.render import html

Branch = tuple[str, dict[str, str], str, str, list["Branch"]]


def branch(element: Element) -> Branch:
    """Return an element as plain data, without what HTML does to the ends of head and body."""
    outer = element.tag in ("html", "head", "body")
    return (
        str(element.tag),
        {name: value for name, value in element.attrib.items() if "xmlns" not in name},
        (element.text or "").strip() if outer else element.text or "",
        "" if outer else (element.tail or "").rstrip("\n"),
        [branch(child) for child in element],
    )


@pytest.mark.parametrize("batch", [BREWED, HOSTILE])
@pytest.mark.parametrize("name", NAMES)
def test_the_same_tree_as_by_a_browser_s_rules(name: str, batch: str) -> None:
    (document,) = [d for d in ALL if d.name == name]
    assessment = assessed(batch)
    text = html(document.template, document.view(assessment, "A4", 1), "A4")
    quick = page_tree(text)
    assert quick is not None, "a template is no well-formed XML"
    # The outside reference: a parser that keeps to the rules of the HTML standard.
    assert branch(quick) == branch(tinyhtml5.parse(text, namespace_html_elements=False))


@pytest.mark.parametrize(
    "text",
    [
        "<!DOCTYPE html>\n<html><body><br></body></html>",
        "<!DOCTYPE html>\n<html><body>&ensp;</body></html>",
        "<html><body/></html>",
        '<!DOCTYPE html>\n<!DOCTYPE x [<!ENTITY a "aaaa">]><html><body>&a;</body></html>',
        '<!DOCTYPE html [<!ENTITY a "aaaa">]><html><body>&a;</body></html>',
    ],
    ids=["not closed", "named character", "no type", "second type", "entity"],
)
def test_what_is_not_both_is_left_to_the_other_parser(text: str) -> None:
    assert page_tree(text) is None
