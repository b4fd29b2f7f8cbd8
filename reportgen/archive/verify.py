"""A printed PDF held against its source: the record inside, the record kept, the bytes made again.

The PDF is only read. What is regenerated is made in memory, from the record that the PDF carries
and from the house's files as they are now, or as they were in a revision.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Protocol

from msgspec import Struct
from msgspec.structs import replace

from reportgen.archive.build import MANIFEST, digest
from reportgen.archive.changed_lines import changed_lines
from reportgen.archive.issued import as_issued
from reportgen.archive.revisions import SHALLOW, Revision, exported, is_shallow, revision_with
from reportgen.archive.schemas import same_but_for_line
from reportgen.assessment.assess import Assessment
from reportgen.loading import load_archive
from reportgen.record.failure import Refused
from reportgen.record.finding import Severity
from reportgen.record.ids import Ids, ids_of
from reportgen.record.listing import OUTPUT, listing_of
from reportgen.record.source import source_from_bytes

SHOWN_LINES = 12
"""Changed lines shown of a record that differs."""

PAPERS = {
    (595, 842): "A4", (612, 792): "Letter",
    # The list of the ledger lies on its side.
    (842, 595): "A4", (792, 612): "Letter",
    # A card is half a sheet.
    (420, 595): "A4", (396, 612): "Letter",
}  # fmt: skip
"""Size of a page in whole points."""


class NotVerifiable(Refused):
    """A file that is no PDF of a batch; the message says what it is instead."""


class ArchivedDocument(Protocol):
    """What is asked of a kind of document: its title, whether a record is in it, and to make it."""

    @property
    def title(self) -> str: ...
    @property
    def archival(self) -> bool: ...
    def applies(self, batch: Assessment, /) -> bool: ...
    def make(self, batch: Assessment, paper: str, copy: int, /) -> bytes: ...


class PdfRead(Struct, frozen=True):
    """A PDF as read: its title, paper, the digest of each page's content, what is attached.

    ``makers`` are the tool and the layout library as the PDF names them.
    """

    title: str
    paper: str
    makers: tuple[str, str]
    pages: tuple[str, ...]
    attached: tuple[tuple[str, bytes], ...]


class Statement(Struct, frozen=True):
    """One thing that holds, or does not; None where it cannot be said. ``details`` show why."""

    holds: bool | None
    words: str
    details: tuple[str, ...] = ()


class Verification(Struct, frozen=True):
    """What it shows of one PDF. ``compared`` says whether there was anything to hold it against."""

    document: str
    batch: str
    paper: str
    pages: int
    statements: tuple[Statement, ...]
    compared: bool = True

    @property
    def holds(self) -> bool:
        """Whether nothing that was looked at fails to hold."""
        return all(s.holds is not False for s in self.statements)


def open_pdf(data: bytes) -> PdfRead:
    """Read a PDF. :class:`NotVerifiable` when it is none, or is damaged."""
    import io

    import pikepdf

    if not data.startswith(b"%PDF-"):
        raise NotVerifiable("not a PDF")
    try:
        with pikepdf.open(io.BytesIO(data)) as pdf:
            box = [float(edge) for edge in pdf.pages[0].mediabox]
            size = (round(box[2] - box[0]), round(box[3] - box[1]))
            return PdfRead(
                str(pdf.docinfo.get("/Title", "")),
                PAPERS.get(size, ""),
                (str(pdf.docinfo.get("/Creator", "")), str(pdf.docinfo.get("/Producer", ""))),
                tuple(_content(page) for page in pdf.pages),
                tuple(
                    (name, bytes(spec.get_file().read_bytes()))
                    for name, spec in pdf.attachments.items()
                ),
            )
    except (pikepdf.PdfError, IndexError, KeyError, ValueError) as error:
        raise NotVerifiable("a damaged PDF: it is cut off, or was changed in transit") from error


def _content(page: Any) -> str:
    contents = page.obj.get("/Contents")
    if contents is None:
        return ""
    parts = list(contents) if contents._type_name == "array" else [contents]
    return digest(b"\n".join(bytes(part.read_bytes()) for part in parts))


def document_of(title: str, documents: Sequence[ArchivedDocument]) -> tuple[ArchivedDocument, str]:
    """Return which document of which batch a PDF's title names. :class:`NotVerifiable` if none."""
    for document in documents:
        start = f"{document.title} "
        if title.startswith(start) and ":" in title:
            return document, title[len(start):].partition(":")[0]
    named = ", ".join(d.title.lower() for d in documents)
    said = f"its title is `{title}`" if title else "it has no title, or is damaged"
    raise NotVerifiable(f"{said}; wanted is one of: {named}")


class Shelf(Struct, frozen=True):
    """The archive that PDFs are held against: where it lies, its files, the ids of its records.

    ``folder`` has the files as they are now, or as they were in ``revision``; None when there is
    no archive.
    """

    root: Path
    folder: Path | None
    revision: Revision | None
    ids: Ids

    @property
    def words(self) -> str:
        """What it is called in a statement."""
        return f"revision {self.revision.short} of the archive" if self.revision else "the archive"

    def file_of(self, batch: str) -> str:
        """Return the record file of a batch; empty when there is none."""
        return next(iter(self.ids.files_of(batch)), "")


@contextmanager
def shelf(root: Path | None, revision: Revision | None = None) -> Iterator[Shelf]:
    """Give an archive to hold PDFs against: as it is now, as it was in a revision, or none.

    :class:`NoRevision` when the archive of the revision cannot be read.
    """
    if root is None:
        yield Shelf(Path(), None, None, ids_of(()))
        return
    with _laid_out(root, revision) as folder:
        yield Shelf(root, folder, revision, listing_of(folder).ids)


def verify(
    data: bytes,
    against: Shelf,
    documents: Sequence[ArchivedDocument],
    copy: int = 1,
    path: Path | None = None,
) -> Verification:
    """Verify one PDF. :class:`NotVerifiable` when the file is none of the documents of a batch.

    ``path`` is where it lies, for what the last build has written there.
    """
    opened = open_pdf(data)
    built = [] if against.revision else _in_manifest(against.root, data, path)
    try:
        document, batch = document_of(opened.title, documents)
    except NotVerifiable:
        if not opened.makers[0].startswith("reportgen "):
            raise
        return _of_many(opened, built)
    statements = [_attached(opened, document)]
    inside = opened.attached[0][1] if len(opened.attached) == 1 else None
    if against.folder is None:
        words = (
            "there is no archive here (no brewery.yaml in this folder or above), so it is compared "
            "with nothing; name the archive with --archive"
        )
        statements.append(Statement(None, words))
    else:
        file = against.file_of(batch)
        if inside is not None:
            statements.append(_same_record(against, against.folder, file, inside))
        elif not file:
            statements.append(Statement(False, f"{against.words} has no batch {batch}"))
        place = _Place(against, against.folder, file or f"{batch}.yaml", inside, copy)
        statements.append(_same_bytes(data, opened, document, batch, place))
        statements += built
    return Verification(
        document.title,
        batch,
        opened.paper,
        len(opened.pages),
        tuple(statements),
        against.folder is not None,
    )


def _of_many(opened: PdfRead, built: Sequence[Statement]) -> Verification:
    """Return what can be said of a list, a comparison or labels: they are not made from one record.
    """
    words = "it is not made of one record, so only what the last build wrote can vouch for it"
    return Verification(
        opened.title, "", opened.paper, len(opened.pages), (Statement(None, words), *built),
        any(statement.holds is not None for statement in built),
    )  # fmt: skip


def _attached(opened: PdfRead, document: ArchivedDocument) -> Statement:
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
    if document.archival:
        return Statement(False, "no record is attached, as one is to every batch record")
    return Statement(None, "no record is attached: a working sheet carries none")


def _same_record(against: Shelf, folder: Path, file: str, inside: bytes) -> Statement:
    where = against.words
    if not file:
        return Statement(False, f"{where} has no such batch")
    try:
        kept = (folder / file).read_bytes()
    except OSError as error:
        return Statement(False, f"{where}: {file} cannot be read: {error.strerror}")
    if same_but_for_line(kept, inside):
        return Statement(True, f"{where} has the same record: {file}")
    changed = changed_lines(inside, kept, SHOWN_LINES)
    words = f"{where} has another text in {file}: {changed.count} lines differ (- inside, + kept)"
    if against.revision is None:
        earlier = revision_with(against.root, file, inside)
        if earlier is not None:
            words += (
                f"; the record inside is that of revision {earlier.short} "
                f"({earlier.day}, {earlier.subject}); see with --revision {earlier.short}"
            )
        elif is_shallow(against.root):
            words += f"; whether an earlier revision has the text inside is unknown: {SHALLOW}"
    if re.search(rb"^(<{7}|>{7}) ", kept, re.MULTILINE):
        words += "; it has an open merge: close that first"
    return Statement(False, words, changed.shown)


class _Place(Struct, frozen=True):
    """Where to make a PDF again: the archive, the record's file, the record inside the PDF."""

    against: Shelf
    folder: Path
    file: str
    inside: bytes | None
    copy: int


def _same_bytes(
    data: bytes, opened: PdfRead, document: ArchivedDocument, batch: str, place: _Place
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
        words = _pages_words([n for n, (a, b) in enumerate(pairs, 1) if a != b], len(again.pages))
    if again.makers != opened.makers:
        why = (
            f"it was made by {' with '.join(opened.makers) or 'an unnamed program'}, this is "
            f"{' with '.join(again.makers)}; nothing can be said of changes by hand"
        )
    else:
        why = (
            f"changed by hand, or {'its record, ' if place.inside is None else ''}brewery.yaml, "
            "stock.yaml, a linked record, a photograph, the tool or its templates have changed "
            "since"
        )
        if place.inside is None:
            why += f"; this is made as copy {place.copy}, another with --copy"
    return Statement(False, f"made again from {from_what}, {words}: {why}")


def _pages_words(differing: list[int], count: int) -> str:
    """Return which pages differ, runs of them as a range."""
    if len(differing) == count:
        return f"all {count} pages differ" if count > 1 else "its page differs"
    if len(differing) == 1:
        return f"page {differing[0]} differs"
    runs: list[list[int]] = []
    for page in differing:
        if runs and runs[-1][-1] == page - 1:
            runs[-1][1:] = [page]
        else:
            runs.append([page])
    return f"pages {', '.join(' to '.join(map(str, run)) for run in runs)} differ"


def _made_again(
    opened: PdfRead, document: ArchivedDocument, batch: str, place: _Place
) -> bytes | str:
    """Return the PDF made again, or why it cannot be."""
    if not opened.paper:
        return "its paper is neither A4 nor Letter"
    given = {} if place.inside is None else {place.file: place.inside}
    archive = load_archive(place.folder, given=given, only=[place.file])
    bound = archive.batches.get(batch)
    if bound is None:
        return f"there is no batch {batch}"
    # Images and templates of the archive's own are looked for where they lie.
    archive = replace(archive, root=place.against.root)
    assessment = as_issued(archive, bound)
    if assessment is None:
        wrong = next((f for f in archive.findings if f.severity is Severity.ERROR), None)
        why = f", {wrong.position.file}:{wrong.position.line}: {wrong.message}" if wrong else ""
        return f"the record does not go with this brewery.yaml and stock.yaml{why}"
    if not document.applies(assessment):
        return f"a {document.title.lower()} is not made of a batch that is so far"
    return document.make(assessment, opened.paper, place.copy)


@contextmanager
def _laid_out(root: Path, revision: Revision | None) -> Iterator[Path]:
    if revision is None:
        yield root
        return
    with exported(root, revision) as folder:
        yield folder


def _in_manifest(root: Path, data: bytes, path: Path | None) -> list[Statement]:
    """Say whether the manifest of the last build lists these bytes, when there is a manifest.

    Bytes that it lists under another name than that of the file, in the folder of the build, are
    one document in the place of another.
    """
    output = (root / OUTPUT).resolve()
    try:
        text = (output / MANIFEST).read_text(encoding="utf-8")
    except (OSError, ValueError):
        return []
    own, here = digest(data), path.resolve() if path is not None else output
    name = here.relative_to(output).as_posix() if here.is_relative_to(output) else ""
    listed = {line.partition("  ")[2]: line.partition("  ")[0] for line in text.splitlines()}
    names = [other for other, sha256 in listed.items() if sha256 == own]
    if name in listed and names and name not in names:
        words = f"{MANIFEST} of the last build lists these bytes as {names[0]}, not as {name}"
        return [Statement(False, f"{words}; fix: run `reportgen build`")]
    if names:
        return [Statement(True, f"{MANIFEST} of the last build lists it as {names[0]}")]
    return [Statement(None, f"{MANIFEST} of the last build does not list it")]
