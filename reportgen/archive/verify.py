"""A printed PDF held against its source: the record inside, the record kept, the bytes made again.

The PDF is only read. What is regenerated is made in memory, from the record that the PDF carries
and from the house's files as they are now, or as they were in a revision.
"""

from __future__ import annotations

import dataclasses
import difflib
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from reportgen.archive.build import MANIFEST, digest
from reportgen.archive.revisions import Revision, exported, revision_with
from reportgen.assess import assess
from reportgen.record.load import BREWERY, STOCK, load_archive, record_files
from reportgen.record.source import source_from_bytes
from reportgen.report.documents import ALL, RECORD, Document

SHOWN_LINES = 12
"""Changed lines shown of a record that differs."""

PAPERS = {(595, 842): "A4", (612, 792): "Letter"}
"""Size of a page in whole points."""


class NotVerifiable(Exception):
    """A file that is no PDF of a batch; the message says what it is instead."""


@dataclass(frozen=True)
class Opened:
    """A PDF as read: its title, paper, the digest of each page's content, what is attached."""

    title: str
    paper: str
    pages: tuple[str, ...]
    attached: tuple[tuple[str, bytes], ...]


@dataclass(frozen=True)
class Statement:
    """One thing that holds, or does not; None where it cannot be said. ``details`` show why."""

    holds: bool | None
    words: str
    details: tuple[str, ...] = ()


@dataclass(frozen=True)
class Verification:
    """What can be said of one PDF."""

    document: str
    batch: str
    paper: str
    pages: int
    statements: tuple[Statement, ...]

    @property
    def holds(self) -> bool:
        """Whether nothing that was looked at fails to hold."""
        return all(s.holds is not False for s in self.statements)


def open_pdf(data: bytes) -> Opened:
    """Read a PDF. :class:`NotVerifiable` when it is none, or is damaged."""
    import io

    import pikepdf

    if not data.startswith(b"%PDF-"):
        raise NotVerifiable("not a PDF")
    try:
        with pikepdf.open(io.BytesIO(data)) as pdf:
            box = [float(edge) for edge in pdf.pages[0].mediabox]
            size = (round(box[2] - box[0]), round(box[3] - box[1]))
            return Opened(
                str(pdf.docinfo.get("/Title", "")),
                PAPERS.get(size, ""),
                tuple(_content(page) for page in pdf.pages),
                tuple(
                    (name, bytes(spec.get_file().read_bytes()))
                    for name, spec in pdf.attachments.items()
                ),
            )
    except (pikepdf.PdfError, IndexError, KeyError, ValueError) as error:
        raise NotVerifiable(f"a damaged PDF: {error}") from error


def _content(page: Any) -> str:
    contents = page.obj.get("/Contents")
    if contents is None:
        return ""
    parts = list(contents) if contents._type_name == "array" else [contents]
    return digest(b"\n".join(bytes(part.read_bytes()) for part in parts))


def document_of(title: str) -> tuple[Document, str]:
    """Return which document of which batch a PDF's title names. :class:`NotVerifiable` if none."""
    for document in ALL:
        start = f"{document.title} "
        if title.startswith(start) and ":" in title:
            return document, title[len(start):].partition(":")[0]
    named = ", ".join(d.title.lower() for d in ALL)
    said = f"its title is `{title}`" if title else "it has no title, or is damaged"
    raise NotVerifiable(f"{said}; wanted is one of: {named}")


def verify(
    data: bytes, root: Path, revision: Revision | None = None, copy: int = 1
) -> Verification:
    """Verify one PDF against an archive, as it is now or as it was in a revision.

    :class:`NotVerifiable` when the file is no PDF of a batch; :class:`NoRevision` when the
    archive of the revision cannot be read.
    """
    opened = open_pdf(data)
    document, batch = document_of(opened.title)
    with _laid_out(root, revision) as folder:
        archive = load_archive(folder)
        kept = archive.batches.get(batch)
        file = kept.file if kept is not None else ""
        source = kept.source.data if kept is not None else None
        statements = [_attached(opened, document)]
        inside = opened.attached[0][1] if opened.attached else None
        if inside is not None:
            statements.append(_same_record(root, revision, file, source, inside))
        elif source is None:
            statements.append(Statement(False, f"the archive has no batch {batch}"))
        statements.append(
            _same_bytes(data, opened, document, batch, _Place(root, folder, file, inside, copy))
        )
    if revision is None:
        statements += _in_manifest(root, data)
    return Verification(document.title, batch, opened.paper, len(opened.pages), tuple(statements))


def _attached(opened: Opened, document: Document) -> Statement:
    if len(opened.attached) == 1:
        name, inside = opened.attached[0]
        source, findings = source_from_bytes(inside, name)
        words = f"the record is attached: {name}, {len(inside)} bytes, SHA-256 {digest(inside)}"
        if source is None:
            return Statement(False, f"{words}; it cannot be read: {findings[0].message}")
        return Statement(True, words)
    if opened.attached:
        names = ", ".join(name for name, _ in opened.attached)
        return Statement(False, f"one record should be attached, but there are: {names}")
    if document.name == RECORD.name:
        return Statement(False, "no record is attached, as one is to every batch record")
    return Statement(None, "no record is attached: a working sheet carries none")


def _same_record(
    root: Path, revision: Revision | None, file: str, kept: bytes | None, inside: bytes
) -> Statement:
    where = f"revision {revision.short} of the archive" if revision else "the archive"
    if kept is None:
        return Statement(False, f"{where} has no such batch")
    if kept == inside:
        return Statement(True, f"{where} has the same record: {file}")
    before = inside.decode("utf-8", "replace").splitlines()
    after = kept.decode("utf-8", "replace").splitlines()
    lines = [
        line
        for line in difflib.unified_diff(before, after, n=0, lineterm="")
        if not line.startswith(("---", "+++", "@@"))
    ]
    details = lines[:SHOWN_LINES]
    if len(lines) > SHOWN_LINES:
        details.append(f"... and {len(lines) - SHOWN_LINES} lines more")
    words = f"{where} has another text in {file}: {len(lines)} lines differ (- inside, + kept)"
    if revision is None:
        earlier = revision_with(root, file, inside)
        if earlier is not None:
            words += (
                f"; the record inside is that of revision {earlier.short} "
                f"({earlier.day}, {earlier.subject})"
            )
    return Statement(False, words, tuple(details))


@dataclass(frozen=True)
class _Place:
    """Where to make a PDF again: the archive, its files, the record's file and its text."""

    root: Path
    folder: Path
    file: str
    inside: bytes | None
    copy: int


def _same_bytes(
    data: bytes, opened: Opened, document: Document, batch: str, place: _Place
) -> Statement:
    made = _made_again(opened, document, batch, place)
    if isinstance(made, str):
        return Statement(False, f"it cannot be made again: {made}")
    from_what = "the record inside" if place.inside is not None else "the record kept"
    if made == data:
        return Statement(True, f"made again from {from_what}, every byte is the same")
    again = open_pdf(made)
    if again.pages == opened.pages:
        return Statement(
            False, f"made again from {from_what}, every page is the same but other bytes differ"
        )
    if len(again.pages) != len(opened.pages):
        words = f"it has {len(again.pages)} pages, not {len(opened.pages)}"
    else:
        pairs = zip(again.pages, opened.pages, strict=True)
        differing = [str(n) for n, (a, b) in enumerate(pairs, 1) if a != b]
        words = f"pages {', '.join(differing)} differ" if len(differing) > 1 else (
            f"page {differing[0]} differs"
        )
    return Statement(
        False,
        f"made again from {from_what}, {words}: changed by hand, or brewery.yaml, stock.yaml, a "
        "linked record, the tool or its templates have changed since",
    )


def _made_again(
    opened: Opened, document: Document, batch: str, place: _Place
) -> bytes | str:
    """Return the PDF made again, or why it cannot be."""
    if not opened.paper:
        return "its paper is neither A4 nor Letter"
    with _with_record(place) as folder:
        archive = load_archive(folder)
        found = archive.batches.get(batch)
        if found is None:
            return f"there is no batch {batch}"
        # Images and templates of the archive's own are looked for where they lie.
        archive = dataclasses.replace(archive, root=place.root)
        assessment = assess(archive, found)
        if assessment is None:
            return "the record, brewery.yaml or stock.yaml cannot be read"
        if not document.applies(assessment):
            return f"a {document.title.lower()} is not made of a batch that is so far"
        return document.make(assessment, opened.paper, place.copy)


@contextmanager
def _with_record(place: _Place) -> Iterator[Path]:
    """Give the folder of an archive in which the record is the one inside the PDF."""
    inside = place.inside
    path = place.folder / place.file
    if inside is None or (place.file and path.read_bytes() == inside):
        yield place.folder
        return
    with TemporaryDirectory(prefix="reportgen-") as name:
        folder = Path(name).resolve()
        _copy_texts(place.folder, folder)
        target = folder / (place.file or "record.yaml")
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(inside)
        yield folder


def _copy_texts(archive: Path, folder: Path) -> None:
    for path in (archive / BREWERY, archive / STOCK, *record_files(archive)):
        if path.is_file():
            target = folder / path.relative_to(archive)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)


@contextmanager
def _laid_out(root: Path, revision: Revision | None) -> Iterator[Path]:
    if revision is None:
        yield root
        return
    with exported(root, revision) as folder:
        yield folder


def _in_manifest(root: Path, data: bytes) -> list[Statement]:
    """Say whether the manifest of the last build lists these bytes, when there is a manifest."""
    try:
        text = (root / "build" / MANIFEST).read_text(encoding="utf-8")
    except (OSError, ValueError):
        return []
    own = digest(data)
    for line in text.splitlines():
        listed, _, name = line.partition("  ")
        if listed == own:
            return [Statement(True, f"{MANIFEST} of the last build lists it as {name}")]
    return [Statement(None, f"{MANIFEST} of the last build does not list it")]


