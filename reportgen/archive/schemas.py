"""The schemas that an editor reads, in the archive itself: they travel with it into every clone.

``.reportgen/`` holds a schema for each kind of file, as this version of the tool knows them, and
``names.json`` with the names of the archive's own stock, kit and batches, which the schemas refer
to. The first line of each file points there by a path inside the archive. Nothing computes from
these files: an editor alone reads them.
"""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Iterable, Mapping
from pathlib import Path, PurePosixPath
from typing import Any

from msgspec import Struct

from reportgen import __version__
from reportgen.archive.build import digest
from reportgen.archive.write import CannotWrite, write_atomic
from reportgen.record.listing import BREWERY, STOCK, leads_out, record_names
from reportgen.record.load import HOUSE_TABLES, STOCK_TABLES
from reportgen.record.source import EDITOR_LINE, content_digest, read_source
from reportgen.record.yamltree import Mapping as Node
from reportgen.record.yamltree import parse
from reportgen.resources import schema_dir

FOLDER = ".reportgen"
NAMES = "names.json"
KINDS = ("brewery", "stock", "record")
LOTS, PEOPLE = "lots", "people"

_VERSION = re.compile(r'"x-reportgen": "([^"\n]{1,40})"')
_MADE_FROM = re.compile(r'"x-made-from": "([0-9a-f]{64})"')


def kind_of(file: str) -> str:
    """Return which schema a file of an archive goes by, from its name below the archive."""
    return {BREWERY: "brewery", STOCK: "stock"}.get(file, "record")


def line_of(file: str) -> str:
    """Return the line for the editor, for a file by its name below the archive."""
    up = "../" * (len(PurePosixPath(file).parts) - 1)
    return f"# yaml-language-server: $schema={up}{FOLDER}/{kind_of(file)}.json"


def schema_text(kind: str) -> str:
    """Return the schema of one kind of file as it stands in an archive.

    It is the tool's own, but for the names: those come from the archive's files, never from the
    examples of a schema.
    """
    schema = json.loads((schema_dir() / f"{kind}.json").read_text(encoding="utf-8"))
    made = {
        "$comment": "Written by reportgen for the editor; `reportgen schema` renews it.",
        "x-reportgen": __version__,
        **_with_names(schema),
    }
    return json.dumps(made, indent=1, ensure_ascii=False) + "\n"


def _with_names(schema: Any, key: str = "") -> Any:
    """Return a schema in which each name refers to the names of the archive."""
    if isinstance(schema, list):
        return [_with_names(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    table = schema.get("x-names")
    if isinstance(table, str):
        kept = {k: v for k, v in schema.items() if k not in ("examples", "minLength")}
        return {**kept, "$ref": f"{NAMES}#/$defs/{table}"}
    filled = {k: _with_names(v, k) for k, v in schema.items()}
    offered = PEOPLE if schema.get("x-people") else LOTS if key == "lot" else ""
    if offered and "title" in schema:
        # A lot may be new and initials those of two, so the known are offered and others taken.
        plain = {k: filled.pop(k) for k in ("type", "minLength") if k in filled}
        filled.pop("examples", None)
        filled["anyOf"] = [{"$ref": f"{NAMES}#/$defs/{offered}"}, plain]
    return filled


def names_in(root: Path) -> dict[str, list[str]]:
    """Return the names in each table of an archive, in the order of its files.

    A table of a file that cannot be read is left out, so that nothing is held against it.
    """
    names: dict[str, list[str]] = {
        "batches": list(dict.fromkeys(PurePosixPath(name).stem for name in record_names(root)))
    }
    lots: list[str] = []
    for file, tables in ((BREWERY, (*HOUSE_TABLES, PEOPLE)), (STOCK, STOCK_TABLES)):
        source, _ = read_source(root / file, file)
        tree = parse(source)[0] if source is not None else None
        if not isinstance(tree, Node):
            continue
        for table in tables:
            entries = tree.get(table)
            if entries is not None and not isinstance(entries, Node):
                continue
            names[table] = [key.text for key, _ in entries.entries] if entries else []
            for _, entry in entries.entries if entries else ():
                own = entry.get(LOTS) if isinstance(entry, Node) else None
                lots += [key.text for key, _ in own.entries] if isinstance(own, Node) else []
    names[LOTS] = list(dict.fromkeys(lots))
    if all(table in names for table in STOCK_TABLES):
        names["items"] = [name for table in STOCK_TABLES for name in names[table]]
        if "liquors" in names:
            names["addable"] = [*names["items"], *names["liquors"]]
    return names


def names_text(names: Mapping[str, Iterable[str]], made_from: str) -> str:
    """Return ``names.json``: a definition of each table, one name a line.

    ``made_from`` is the digest of what the names were gathered from.
    """
    from reportgen.checks.base import names as checks

    tables = ("addable", "batches", "checks", "items", LOTS, PEOPLE, *HOUSE_TABLES, *STOCK_TABLES)
    known = {**names, "checks": sorted(checks())}
    made = {
        "$comment": "Written by reportgen for the editor, from the files of this archive.",
        "x-made-from": made_from,
        "$defs": {
            table: {"enum": _spellings(known[table])} if table in known else {}
            for table in sorted(tables)
        },
    }
    return json.dumps(made, indent=1, ensure_ascii=False) + "\n"


def _spellings(names: Iterable[str]) -> list[str | float]:
    """Return names as an editor may read them: one of digits alone is a number to it."""
    spellings: list[str | float] = []
    for name in names:
        spellings.append(name)
        if re.fullmatch(r"\d{1,15}", name):
            spellings.append(int(name))
        elif re.fullmatch(r"\d{1,9}\.\d{1,9}", name):
            spellings.append(float(name))
    return spellings


def digest_of_names(root: Path) -> str:
    """Return a digest of all that the names are gathered from, without reading any record."""
    parts = [__version__, *record_names(root)]
    for file in (BREWERY, STOCK):
        with contextlib.suppress(OSError):
            if (root / file).is_file():
                parts.append(content_digest((root / file).read_bytes()))
    return digest("\0".join(parts).encode("utf-8", "surrogateescape"))


def is_safe(root: Path) -> bool:
    """Whether ``.reportgen`` is, or can be, a folder of the archive and no way out of it."""
    folder = root / FOLDER
    return not folder.is_symlink() and (folder.is_dir() or not folder.exists())


def has_schemas(root: Path) -> bool:
    """Whether an archive has its schemas with it."""
    return is_safe(root) and (root / FOLDER / "record.json").is_file()


def keep_names(root: Path) -> bool:
    """Write ``names.json`` anew when a name was added, changed or taken away; say whether.

    An archive without schemas, or one that cannot be written, stays as it is.
    """
    if not has_schemas(root):
        return False
    path = root / FOLDER / NAMES
    made_from = digest_of_names(root)
    with contextlib.suppress(OSError, ValueError):
        known = _MADE_FROM.search(path.read_text(encoding="utf-8"))
        if known is not None and known[1] == made_from:
            return False
    with contextlib.suppress(CannotWrite):
        write_atomic(path, names_text(names_in(root), made_from).encode())
        return True
    return False


def write_schemas(root: Path) -> list[str]:
    """Write what of ``.reportgen/`` is missing or otherwise; return the names of the files.

    :class:`CannotWrite` when the folder is a link or cannot be written.
    """
    if not is_safe(root):
        raise CannotWrite(f"{root / FOLDER}: not a folder of the archive; it is left as it is")
    written = []
    texts = {f"{kind}.json": schema_text(kind) for kind in KINDS}
    texts[NAMES] = names_text(names_in(root), digest_of_names(root))
    for name, text in texts.items():
        path = root / FOLDER / name
        if _text(path) != text:
            write_atomic(path, text.encode())
            written.append(f"{FOLDER}/{name}")
    return written


def _text(path: Path) -> str | None:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, ValueError):
        return None


def set_line(root: Path, file: str) -> bool:
    """Let the line for the editor of a file point into the archive; say whether it changed.

    No other byte of the file is touched. A file that is not UTF-8, or is a link, stays as it is.
    :class:`CannotWrite` when it cannot be written.
    """
    path = root / file
    try:
        if path.is_symlink() or leads_out(path, root.resolve()) or not path.is_file():
            return False
        data, mode = path.read_bytes(), path.stat().st_mode
        data.decode("utf-8")
    except (OSError, ValueError):
        return False
    line = line_of(file).encode()
    if EDITOR_LINE.search(data):
        made = EDITOR_LINE.sub(lambda match: match[1] + line, data, count=1)
    else:
        mark = b"\xef\xbb\xbf" if data.startswith(b"\xef\xbb\xbf") else b""
        end = b"\r\n" if b"\r\n" in data.partition(b"\n")[0] + b"\n" else b"\n"
        made = mark + line + end + data[len(mark):]
    if made == data:
        return False
    write_atomic(path, made)
    path.chmod(mode & 0o777)
    return True


class SchemaState(Struct, frozen=True):
    """What is to be said of the schemas of an archive.

    ``version`` is that of the tool which wrote them, empty when they are not those of this one
    though its version is the same; None when they are current or there are none. ``dead`` are files
    whose line for the editor names no file.
    """

    version: str | None
    dead: tuple[str, ...]

    @property
    def words(self) -> str:
        """What is said of it, in one line; empty when there is nothing to say."""
        if self.version and _ordered(self.version) > _ordered(__version__):
            return (
                f"for the editor: {FOLDER}/ was written by version {self.version} of reportgen, "
                f"this is {__version__}; fix: upgrade reportgen"
            )
        parts = []
        if self.version is not None:
            which = f"version {self.version}" if self.version else "another state"
            parts.append(f"{FOLDER}/ was written by {which} of reportgen, this is {__version__}")
        if self.dead:
            many = len(self.dead)
            first = f"the first line of {self.dead[0]}"
            others = f" and {many - 1} more" if many > 1 else ""
            parts.append(f"{first}{others} names a schema that is not there")
        if not parts:
            return ""
        return f"for the editor: {'; '.join(parts)}; fix: run `reportgen schema`"


def _ordered(version: str) -> list[int]:
    return [int(number) for number in re.findall(r"\d+", version)[:3]]


def state_of(root: Path, files: Iterable[str]) -> SchemaState:
    """Look whether the schemas are those of this tool, and the lines of some files lead to one."""
    version = None
    if has_schemas(root):
        for kind in KINDS:
            kept = _text(root / FOLDER / f"{kind}.json")
            if kept != schema_text(kind):
                match = _VERSION.search(kept or "")
                version = match[1] if match and match[1] != __version__ else ""
                break
    return SchemaState(version, tuple(name for name in files if _is_dead(root, name)))


def _is_dead(root: Path, file: str) -> bool:
    """Whether the line for the editor of a file names a path at which there is no file."""
    try:
        # Opening a named pipe would wait for ever.
        if not (root / file).is_file():
            return False
        with (root / file).open("rb") as opened:
            match = EDITOR_LINE.search(opened.read(4096))
    except OSError:
        return False
    if match is None:
        return False
    target = match[2].decode("utf-8", "replace")
    if re.match(r"[A-Za-z][\w+.-]+:", target) or not target:
        return False
    try:
        return not (root / file).parent.joinpath(target).is_file()
    except (OSError, ValueError):
        return True


def same_but_for_line(one: bytes, other: bytes) -> bool:
    """Whether two texts of a record are the same, whatever their line for the editor says."""
    return one == other or _without_line(one) == _without_line(other)


def _without_line(data: bytes) -> bytes:
    match = EDITOR_LINE.search(data)
    if match is None:
        return data
    rest = data[match.end():]
    return data[: match.start()] + match[1] + re.sub(rb"\A\r?\n", b"", rest)

