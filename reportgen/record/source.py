"""Bytes of a file to text with lines, refusing what could not be read or shown safely.

Knows nothing of YAML. A source comes back whenever its text can be read on soundly: a stray
control character is reported and replaced one for one by U+FFFD, so that everything after it
keeps its place; a file that is not UTF-8, has tabs for indentation or an open merge is refused.
"""

from __future__ import annotations

import codecs
import hashlib
import os
import re
import stat
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from reportgen.record.finding import Finding, Position
from reportgen.record.rules import RULES, finding_of
from reportgen.record.suggest import nearest

LIMIT = 2 * 1024 * 1024
"""Largest file read, in bytes. A batch record is some ten thousand bytes."""

MOST = 20
"""Findings reported of one rule in one file; the last one says how many more there are."""

_BREAK = re.compile(r"\r\n|\r|\n")
_TAB_INDENT = re.compile(r"^ *\t[ \t]*(?=[^ \t])")
_CONFLICT = re.compile(r"^(<{7}|\|{7}|={7}|>{7})( |$)")
_BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
_HIDDEN = "\u00ad\u200b\u2060\u2061\u2062\u2063\u2064\ufeff\u2028\u2029\ufff9\ufffa\ufffb"
_STRANGE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff"
    + _BIDI
    + _HIDDEN
    + "".join(f"{chr(p * 0x10000 + 0xFFFE)}{chr(p * 0x10000 + 0xFFFF)}" for p in range(1, 17))
    + "]"
)
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_SPACE_INDENT = re.compile(r"^[ ]*([\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]+)")
_BOMS = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
)
EDITOR_LINE = re.compile(
    rb"\A((?:\xef\xbb\xbf)?(?:[ \t]*(?:#[^\r\n]*)?\r?\n){0,40}?)"
    rb"# ?yaml-language-server:[ \t]*\$schema=([^\s]*)[^\r\n]*"
)
"""The line that tells an editor where the schema is, among the comments that a file begins with.

The first group is what stands before it, the second the address. It says nothing of the batch.
"""


class Source(Struct, frozen=True):
    """A text file as read.

    ``text`` has line ends written as a line feed and unreadable characters as U+FFFD; ``lines``
    are its lines without line ends; ``data`` are the bytes as they stand on disk and ``sha256``
    their hash.
    """

    file: str
    text: str
    lines: tuple[str, ...]
    sha256: str
    data: bytes

    @property
    def content(self) -> str:
        """The digest of what the file says of the batch; see :func:`content_digest`."""
        return content_digest(self.data)

    def line(self, number: int) -> str:
        """Return a line by its number, counted from 1; empty beyond the end."""
        return self.lines[number - 1] if 0 < number <= len(self.lines) else ""


def content_digest(data: bytes) -> str:
    """Return the SHA-256 of a file, whatever its line for the editor says.

    That line moves with the place of the schema; what is made from the file does not change.
    """
    blank = rb"\1# yaml-language-server: $schema="
    return hashlib.sha256(EDITOR_LINE.sub(blank, data, count=1)).hexdigest()


def has_strange(text: str) -> bool:
    """Whether a text has a character that cannot be read or shown safely."""
    # Nearly every file is plain ASCII, for which the long set of characters need not be searched.
    return bool((_CONTROL if text.isascii() else _STRANGE).search(text))


def without_strange(text: str) -> str:
    """Return a text with each such character replaced by U+FFFD."""
    return _STRANGE.sub("\ufffd", text)


def _lines(text: str) -> tuple[str, ...]:
    lines = _BREAK.split(text)
    if lines[-1] == "":
        lines.pop()
    return tuple(lines)


def _source(shown: str, text: str, data: bytes) -> Source:
    if "\r" in text:
        text = _BREAK.sub("\n", text)
    if has_strange(text):
        text = without_strange(text)
    return Source(shown, text, _lines(text), hashlib.sha256(data).hexdigest(), data)


def source_from_text(text: str, shown: str) -> Source:
    """Return a source for a text that is in no file."""
    return _source(shown, text, text.encode("utf-8", "replace"))


def read_source(path: Path, shown: str) -> tuple[Source | None, list[Finding]]:
    """Read a file; ``shown`` is its path as findings name it.

    Returns no source when the file cannot be read as text at all, or when nothing said about its
    structure would be sound.
    """
    data, refusal = _bytes(path)
    if refusal is not None:
        return None, [_finding(shown, refusal)]
    return source_from_bytes(data, shown)


def source_from_bytes(data: bytes, shown: str) -> tuple[Source | None, list[Finding]]:
    """Return the text of a file's bytes, and what is wrong with them."""
    if len(data) > LIMIT:
        return None, [_finding(shown, _too_large(len(data)))]
    text, findings = _decoded(data, shown)
    if text is None:
        return None, findings
    lines = _lines(text)
    stopping = _limited(shown, _conflicts(lines))
    if "\t" in text or not text.isascii():
        stopping += _limited(shown, _indents(lines))
    findings = stopping + (_limited(shown, _strange(lines)) if has_strange(text) else [])
    findings.sort()
    return (None if stopping else _source(shown, text, data)), findings


class _Refusal(Struct, frozen=True):
    rule: str
    message: str
    expected: str = ""
    remedy: str | None = None
    line: int = 1
    column: int = 1
    end_column: int = 1
    text: str = ""


def _finding(shown: str, said: _Refusal) -> Finding:
    position = Position(shown, said.line, said.column, said.end_column)
    return finding_of(
        said.rule, position, said.message, said.expected, said.remedy, said.text
    )


def _too_large(size: int) -> _Refusal:
    return _Refusal(
        "too-large",
        f"the file has {size:,} bytes",
        f"at most {LIMIT:,} bytes",
    )


def _bytes(path: Path) -> tuple[bytes, _Refusal | None]:
    try:
        # Look before opening: opening a named pipe would wait for ever.
        status = os.stat(path)
        if stat.S_ISDIR(status.st_mode):
            return b"", _Refusal("not-a-file", "this is a folder", "a text file")
        if not stat.S_ISREG(status.st_mode):
            return b"", _Refusal(
                "not-a-file", "this is not a regular file", "a text file",
                "delete it, and put the text in a file of that name",
            )
        if status.st_size > LIMIT:
            return b"", _too_large(status.st_size)
        with open(path, "rb") as stream:
            return stream.read(LIMIT + 1), None
    except FileNotFoundError:
        if path.is_symlink():
            return b"", _Refusal(
                "missing-file", f"this is a link to {os.readlink(path)}, which is not there",
                "a file, or a link to one that is there",
                "delete the link, or put the file in its place",
            )
        return b"", _Refusal("missing-file", "there is no such file", "", _like(path))
    except PermissionError:
        return b"", _Refusal("unreadable", "the file may not be read")
    except (OSError, ValueError) as refused:
        reason = refused.strerror if isinstance(refused, OSError) else None
        reason = reason or str(refused)
        return b"", _Refusal("unreadable", f"the file cannot be read: {reason}")


def _like(path: Path) -> str:
    try:
        beside = sorted(entry.name for entry in os.scandir(path.parent) if entry.is_file())
    except (OSError, ValueError):
        beside = []
    if closest := nearest(path.name, beside):
        return f"did you mean `{closest}`, in the same folder?"
    return (
        f"bring it back, as with `git checkout -- {path.name}`; an archive begun with "
        "`reportgen start FOLDER` has one"
    )


def _decoded(data: bytes, shown: str) -> tuple[str | None, list[Finding]]:
    for mark, name in _BOMS:
        if data.startswith(mark):
            return None, [_encoding(shown, name)]
    if data.startswith(codecs.BOM_UTF8):
        data = data[len(codecs.BOM_UTF8) :]
    if b"\x00" in data:
        return None, [_nul(data, shown)]
    try:
        return data.decode("utf-8"), []
    except UnicodeDecodeError as wrong:
        return None, _bad_bytes(data, wrong, shown)


def _encoding(shown: str, name: str) -> Finding:
    said = _Refusal("encoding", f"the file is saved as {name}", "UTF-8")
    return _finding(shown, said)


def _nul(data: bytes, shown: str) -> Finding:
    # Text in UTF-16 without a mark has a zero byte in every other place.
    even, odd = data[0::2].count(0), data[1::2].count(0)
    half = len(data) // 2
    if half >= 2 and max(even, odd) * 2 > half and min(even, odd) * 8 < half:
        return _encoding(shown, "UTF-16")
    if half >= 4 and data.count(0) * 2 > len(data):
        return _encoding(shown, "UTF-32")
    line, column, text = _place(data, data.index(0))
    return _finding(
        shown,
        _Refusal(
            "binary",
            "the file has a zero byte: it is not text, or it was damaged",
            "plain text",
            None,
            line,
            column,
            column + 1,
            text,
        ),
    )


def _place(data: bytes, offset: int) -> tuple[int, int, str]:
    """Return line, column and the text of the line of a byte."""
    before = _BREAK.split(data[:offset].decode("utf-8", "replace"))
    # A line feed that ends a pair begins no second line.
    rest = data[offset : offset + 2000].decode("utf-8", "replace")
    shown = before[-1][-2000:] + re.split(r"[\r\n]", rest, maxsplit=1)[0]
    return len(before), len(before[-1]) + 1, shown


def _bad_bytes(data: bytes, first: UnicodeDecodeError, shown: str) -> list[Finding]:
    findings: list[Finding] = []
    wrong: UnicodeDecodeError | None = first
    start = 0
    count = 0
    reached = 0
    while wrong is not None:
        at = start + wrong.start
        line, column, text = _place(data, at)
        if line != reached:
            # One finding a line: a word typed in another encoding has several such letters.
            reached = line
            count += 1
            if count <= MOST:
                findings.append(_bad_byte(data, at, line, column, text, shown))
        start = at + max(wrong.end - wrong.start, 1)
        following = re.compile(rb"[\r\n]").search(data, start)
        start = following.start() if following else len(data)
        wrong = None
        try:
            data[start:].decode("utf-8")
        except UnicodeDecodeError as another:
            wrong = another if count <= MOST else None
    return findings


def _bad_byte(data: bytes, at: int, line: int, column: int, text: str, shown: str) -> Finding:
    byte = data[at]
    letter = bytes([byte]).decode("cp1252", "replace")
    meant = f"; in Latin-1 it would be `{letter}`" if letter.isprintable() else ""
    said = _Refusal(
        "not-utf-8",
        f"byte {byte:02X} (hexadecimal) is not UTF-8{meant}",
        "UTF-8",
        f"{RULES['not-utf-8'].fix}; then look at this letter" if meant else None,
        line,
        column,
        column + 1,
        text,
    )
    return _finding(shown, said)


def _conflicts(lines: tuple[str, ...]) -> Iterator[_Refusal]:
    """Yield each merge that was not settled, at its first mark."""
    marks = [(n, m[1]) for n, line in enumerate(lines, 1) if (m := _CONFLICT.match(line))]
    conflict: list[tuple[int, str]] = []
    for number, mark in marks:
        if mark == "<<<<<<<":
            yield from _conflict(conflict, lines)
            conflict = []
        conflict.append((number, mark))
        if mark == ">>>>>>>":
            yield from _conflict(conflict, lines)
            conflict = []
    yield from _conflict(conflict, lines)


def _conflict(marks: list[tuple[int, str]], lines: tuple[str, ...]) -> Iterator[_Refusal]:
    if not any(mark in ("<<<<<<<", ">>>>>>>") for _, mark in marks):
        # A row of seven = alone may underline a heading.
        return
    numbers = [number for number, _ in marks]
    listed = ", ".join(map(str, numbers[:-1])) + " and " if numbers[:-1] else ""
    yield _Refusal(
        "merge-conflict",
        "two versions of this file were merged and not settled, on lines "
        f"{numbers[0]} to {numbers[-1]}",
        "one version",
        "keep the version that is right and delete the lines of marks: "
        f"{listed}{numbers[-1]}",
        numbers[0],
        1,
        8,
        lines[numbers[0] - 1],
    )


def _indents(lines: tuple[str, ...]) -> Iterator[_Refusal]:
    for number, line in enumerate(lines, 1):
        if match := _TAB_INDENT.match(line):
            yield _Refusal(
                "tab-indent",
                "the line is indented with a tab",
                "spaces only, two for each level",
                None,
                number,
                match[0].index("\t") + 1,
                len(match[0]) + 1,
                line,
            )
        elif match := _SPACE_INDENT.match(line):
            yield _Refusal(
                "space-indent",
                "the line is indented with a no-break space or another special space",
                "plain spaces, two for each level",
                None,
                number,
                match.start(1) + 1,
                match.end(1) + 1,
                line,
            )


def _strange(lines: tuple[str, ...]) -> Iterator[_Refusal]:
    for number, line in enumerate(lines, 1):
        for match in _STRANGE.finditer(line):
            code = f"U+{ord(match[0]):04X}"
            if match[0] in _BIDI:
                rule = "bidi-control"
                message = f"{code} turns the direction of the text: it can show other than it reads"
            elif match[0] in _HIDDEN:
                rule, message = "control-character", f"{code} is a character that cannot be seen"
            else:
                rule, message = "control-character", f"{code} is a control character"
            column = match.start() + 1
            yield _Refusal(rule, message, "", None, number, column, column + 1, line)


def _limited(shown: str, refusals: Iterator[_Refusal]) -> list[Finding]:
    """Return the first findings of a run; the last one says that there are more, if there are."""
    kept = list(islice(refusals, MOST + 1))
    if len(kept) > MOST:
        last = kept[MOST - 1]
        kept = [
            *kept[: MOST - 1],
            replace(last, message=f"{last.message} (and more like it below)"),
        ]
    return [_finding(shown, refusal) for refusal in kept]
