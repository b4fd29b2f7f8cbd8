"""The tree of a page, read as XML: the templates are written so that they are both.

The layout library reads pages as HTML only, by a parser in Python that takes a tenth of all the
time of a document. Our pages are well-formed XML as well (the W3C calls that polyglot markup), for
which there is a parser in C. What is not well-formed, such as a template of the archive's own may
be, is left to the library's parser.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, ParseError, fromstring

DOCTYPE = "<!DOCTYPE html>"


def page_tree(html: str) -> Element | None:
    """Return the root element of a page; None when it is not well-formed or of another type.

    The document type is cut off and no other is allowed, so that no entity can be declared.
    """
    doctype, mark, page = html.partition(DOCTYPE)
    page = page.lstrip()
    if doctype or not mark or not page.startswith("<html"):
        return None
    try:
        return fromstring(page)
    except ParseError:
        return None
