"""HTML to PDF: the same bytes for the same content, tagged, and for keeping PDF/A-3a with PDF/UA-1.

WeasyPrint is imported only here, when a document is made.
"""

from __future__ import annotations

import base64
import contextlib
import datetime
import gc
import hashlib
import logging
import os
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from reportgen import __version__
from reportgen.report.fonts import (
    FACES,
    SCHEME,
    font_configuration,
    font_data,
    printable,
)
from reportgen.report.page_tree import page_tree
from reportgen.typeface import characters

ARCHIVAL = "pdf/a-3a"
"""PDF/A-3, level A: tagged, with attachments of any kind (ISO 19005-3)."""

IMAGES = (".png", ".jpg", ".jpeg")
PICTURE = "data:image/jpeg;base64,"
"""Begins the address of a picture that stands in the page itself."""

ARCHIVE_SCHEME = "archive"
BASE = f"{ARCHIVE_SCHEME}:/"
"""What addresses in a page are relative to: the folder of the archive."""

_UA = """<rdf:Description rdf:about="" xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<pdfuaid:part>1</pdfuaid:part></rdf:Description>"""

_EXTENSION = """<rdf:Description rdf:about=""
 xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
 xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
 xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of the PDF/UA standard</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas></rdf:Description>"""
"""PDF/A asks that a schema it does not know be described (ISO 19005-3, 6.6.2.3)."""


class AddressRefused(ValueError):
    """An address that a document may not load."""


def resolve_inside(root: Path, relative: str) -> Path:
    """Return a file inside a folder.

    :class:`AddressRefused` when it lies outside, by any path or link.
    """
    inside = root.resolve()
    path = (inside / relative).resolve()
    if not path.is_relative_to(inside) or not path.is_file():
        raise AddressRefused(f"not a file of the archive: {relative}")
    if path.suffix.lower() not in IMAGES:
        raise AddressRefused(f"not an image: {relative}")
    return path


def _fetcher(root: Path | None) -> Any:
    from urllib.parse import unquote

    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class Fetcher(URLFetcher):  # type: ignore[misc]
        """Answers for the fonts, for images of the archive and in the page; refuses all else."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            scheme, _, rest = url.partition(":")
            if scheme == SCHEME:
                return URLFetcherResponse(url, font_data(rest), {"Content-Type": "font/ttf"})
            if url.startswith(PICTURE):
                data = base64.b64decode(url[len(PICTURE) :], validate=True)
                return URLFetcherResponse(url, data, {"Content-Type": "image/jpeg"})
            if scheme == ARCHIVE_SCHEME and root is not None:
                return URLFetcherResponse(
                    url, resolve_inside(root, unquote(rest).lstrip("/")).read_bytes()
                )
            raise AddressRefused(f"a document may not load {url}")

    return Fetcher()


def _page(html: str, fetcher: Any) -> Any:
    """Return a page as the layout library wants it, read by the quick parser where that can."""
    import cssselect2
    import weasyprint

    tree = page_tree(html)
    if tree is None:
        return weasyprint.HTML(string=html, base_url=BASE, url_fetcher=fetcher)

    class Page(weasyprint.HTML):  # type: ignore[misc]
        """A page whose tree is there already: the library takes text only."""

        def __init__(self) -> None:
            self.base_url = BASE
            self.url_fetcher = fetcher
            self.media_type = "print"
            self.wrapper_element = cssselect2.ElementWrapper.from_html_root(tree)
            self.etree_element = self.wrapper_element.etree_element

    return Page()


@contextlib.contextmanager
def _swept_once() -> Iterator[None]:
    """Hold back the search for cyclic garbage while a document is made; search before the next.

    A page is hundreds of thousands of small objects that stay alive until its PDF is written:
    looking through them again and again finds nothing and takes a tenth of the time. After the
    last document of a process nothing has to be searched, since all of it goes.
    """
    was_on = gc.isenabled()
    if _made:
        _made.clear()
        gc.collect()
    gc.disable()
    try:
        yield
    finally:
        _made.append(True)
        if was_on:
            gc.enable()


_made: list[bool] = []
"""Whether a document was made since garbage was last searched for."""


@lru_cache(maxsize=1)
def _faces() -> Any:
    """Return the stylesheet of the typeface, which hands the fonts over once a process."""
    import weasyprint

    fonts = font_configuration()
    return weasyprint.CSS(string=FACES, font_config=fonts, url_fetcher=_fetcher(None))


def prepare() -> None:
    """Load the library and the typeface, so that processes forked from here have them."""
    font_configuration()
    _faces()
    characters()


RULED = "remarks-head"
"""Class of the element under which the rest of a side is ruled for remarks."""

REMARK = 10.0
"""Distance of the rules, mm."""

RULE = 0.5
LABEL = 12.0
"""Height of the word Remarks, points."""

_MM = 72 / 25.4
_PX = 0.75


def _remarks(page: Any) -> Any:
    """Return the box under which a page is ruled for remarks, or None."""
    remarks = None
    for box in page._page_box.descendants():
        element = getattr(box, "element", None)
        if element is not None and RULED in (element.get("class") or "").split():
            remarks = box
    return remarks


def _room(page: Any, remarks: Any) -> tuple[float, float]:
    """Return the first and the last height at which a rule may be drawn, points from the top."""
    content = page._page_box
    bottom = (content.content_box_y() + content.height) * _PX
    return remarks.position_y * _PX + LABEL + REMARK * _MM, bottom - 3 * _MM


def _hide_crowded(document: Any) -> None:
    """Leave out the word Remarks where not one rule would fit below it."""
    for page in document.pages:
        remarks = _remarks(page)
        if remarks is not None and _room(page, remarks)[0] > _room(page, remarks)[1]:
            remarks.children = []


def _rules(page: Any) -> bytes:
    """Return drawing operators that rule what a side leaves free, 10 mm apart; as an artifact.

    The stylesheet cannot say "the rest of the page", so the lines are drawn when the layout is
    known. Coordinates are points from the top left corner, as in the library's own stream.
    """
    remarks = _remarks(page)
    if remarks is None:
        return b""
    content = page._page_box
    left = content.content_box_x() * _PX
    right = left + content.width * _PX
    y, last = _room(page, remarks)
    lines = []
    while y <= last:
        lines.append(f"{left:.2f} {y:.2f} m {right:.2f} {y:.2f} l S")
        y += REMARK * _MM
    if not lines:
        return b""
    body = "\n".join(lines)
    return f"/Artifact BMC q {RULE} w 0.3 G\n{body}\nQ EMC".encode()


def _rule_pages(document: Any, made: Any) -> None:
    references = made.pages["Kids"][::3]
    for page, reference in zip(document.pages, references, strict=True):
        drawn = _rules(page)
        if drawn:
            stream = made.objects[int(made.objects[reference]["Contents"].split()[0])]
            stream.stream.append(drawn)


def _scope_headers(made: Any) -> None:
    """Say of each table header whether it heads a column or a row.

    The library links cells to headers instead, and loses count below a cell that spans rows.
    """

    def parent(element: Any) -> Any:
        return made.objects[int(element["P"].split()[0])]

    for element in made.objects:
        if isinstance(element, dict) and element.get("S") == "/TH":
            in_head = parent(parent(element)).get("S") == "/THead"
            element["A"]["Scope"] = "/Column" if in_head else "/Row"


def _identify_as_ua(pdf: Any, *parts: str) -> None:
    """Add the PDF/UA identification to the metadata that the library wrote."""
    number = int(pdf.catalog["Metadata"].split()[0])
    stream = pdf.objects[number]
    data = b"".join(p if isinstance(p, bytes) else p.encode() for p in stream.stream)
    before, end, after = data.rpartition(b"</rdf:RDF>")
    stream.stream = [before + "\n".join(("", *parts, "")).encode() + end + after]


@contextlib.contextmanager
def _clock_at(moment: datetime.datetime) -> Iterator[None]:
    """Set the date that the font library writes into a font it cuts down.

    It takes this variable, a convention of reproducible builds, instead of the clock.
    """
    name = "SOURCE_DATE_EPOCH"
    before = os.environ.get(name)
    os.environ[name] = str(int(moment.timestamp()))
    try:
        yield
    finally:
        if before is None:
            del os.environ[name]
        else:
            os.environ[name] = before


LOOSE, TIGHT = '<div class="rest">', '<div class="rest tight">'
"""Begins what may be set a little tighter, and how it begins when it is."""

ONE_SIDE, FULL_SIDE = '<section class="first">', '<section class="first full">'
"""Begins what is to stand on one side, and how it begins when it would not."""

STRAY = 0.2
"""A last side that is filled less than this, of its height, holds what strayed there."""


def _strayed(document: Any) -> bool:
    """Whether the last side of several holds a few lines only."""
    page = document.pages[-1]._page_box
    bottoms = [
        box.position_y + box.height
        for box in page.children[0].descendants()
        if type(box).__name__ in ("LineBox", "TableCellBox")
    ]
    filled = max(bottoms, default=0.0) - page.content_box_y()
    return len(document.pages) > 1 and filled < STRAY * page.height


def _runs_over(document: Any) -> bool:
    """Whether what is to stand on one side goes on over the leaf."""
    second = document.pages[1]._page_box if len(document.pages) > 1 else None
    return second is not None and any(
        getattr(box, "element", None) is not None
        and (box.element.get("class") or "").split()[:1] == ["first"]
        for box in second.children[0].descendants()
    )


def _rendered(html: str, fetcher: Any, options: dict[str, Any]) -> Any:
    """Lay out a page; again, set tighter, where a side would run over or hold a few lines only."""

    def render(text: str) -> Any:
        return _page(printable(text), fetcher).render(
            font_config=font_configuration(), stylesheets=[_faces()], **options
        )

    document = render(html)
    if ONE_SIDE in html and _runs_over(document):
        html = html.replace(ONE_SIDE, FULL_SIDE, 1)
        document = render(html)
    if LOOSE in html and _strayed(document):
        tighter = render(html.replace(LOOSE, TIGHT, 1))
        if len(tighter.pages) < len(document.pages):
            return tighter
    return document


def _laid_out(
    html: str, fetcher: Any, title: str, moment: datetime.datetime, options: dict[str, Any]
) -> Any:
    """Lay out a page and write it as PDF."""
    document = _rendered(html, fetcher, options)
    _hide_crowded(document)
    stamp = moment.strftime("%Y-%m-%dT%H:%M:%SZ")
    document.metadata.title = title
    document.metadata.generator = f"reportgen {__version__}"
    document.metadata.created = document.metadata.modified = stamp
    document.metadata.attachments = []

    def finish(document: Any, made: Any) -> None:
        _rule_pages(document, made)
        _scope_headers(made)
        if options["pdf_variant"] == ARCHIVAL:
            _identify_as_ua(made, _UA, _EXTENSION)

    with _clock_at(moment):
        return document.write_pdf(finisher=finish, **options)


def pdf(
    html: str,
    *,
    title: str,
    identifier_source: bytes,
    date: datetime.date,
    attachment: tuple[str, bytes] | None = None,
    archival: bool = False,
    archive: Path | None = None,
) -> bytes:
    """Return a PDF of an HTML document; the same arguments give the same bytes.

    ``identifier_source`` and the HTML make the file identifier; ``date`` stands as the date of
    making, since the clock would make every run differ. ``attachment`` is the name and the bytes
    of the source, attached with the relationship Source. ``archival`` asks for PDF/A-3a; both
    kinds are tagged and say that they keep to PDF/UA-1. ``archive`` is the folder that images may
    come from. :class:`AddressRefused` is raised inside the library's log only: what may not be
    loaded is left out.
    """
    # Before the library is imported, which looks for the machine's fonts.
    prepare()
    import weasyprint

    fetcher = _fetcher(archive)
    moment = datetime.datetime(date.year, date.month, date.day, tzinfo=datetime.UTC)
    identifier = hashlib.sha256(identifier_source + b"\0" + html.encode()).digest()[:16]
    attachments = []
    if attachment is not None:
        name, data = attachment
        attachments = [
            weasyprint.Attachment(
                string=data,
                name=name,
                description="The record this document was made from",
                relationship="Source",
                created=moment,
                modified=moment,
            )
        ]
    options: dict[str, Any] = {
        "pdf_variant": ARCHIVAL if archival else "pdf/ua-1",
        "pdf_identifier": identifier,
        "pdf_tags": True,
        "attachments": attachments,
    }
    with _swept_once():
        result = _laid_out(html, fetcher, title, moment, options)
    assert isinstance(result, bytes)
    return result


logging.getLogger("weasyprint").addHandler(logging.NullHandler())
