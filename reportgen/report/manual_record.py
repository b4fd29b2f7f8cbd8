"""The chapters of the manual on the three kinds of file, read from their JSON Schemas."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import replace

from reportgen.record.unit_table import NAMES
from reportgen.report.manual_text import ManualLink, flow, prose
from reportgen.resources import schema_dir

FILES = (
    ("brewery", "The brewery file", "brewery.yaml: kit, instruments, liquors, house tolerances."),
    ("stock", "The stock file", "stock.yaml: malts, sugars, hops, yeasts, salts, acids, finings."),
    ("record", "The batch record", "One file a batch, named by its id, e.g. 2026/2026-07.yaml."),
)
"""Kinds of file: name of the schema, title of the page, what it is."""

READING = "reading"
"""Name of the section that explains readings, once for all kinds."""

_VALUES = {
    "day": "a day, as 2026-03-14",
    "clock": "a time of day, 24 hours, as 09:20",
    "moment": "a day and time, as 2026-03-14 09:20",
}
_WORDS = {
    "amount": "a volume or a mass",
    "attenuation": "a percentage",
    "offset": "a value in the unit of the instrument, which may be negative",
    "resolution": "a value in the unit of the instrument",
    "tolerance": "a value in the unit of the figure",
}
"""Kinds of quantity that the table of units does not have, since they may be one of several."""

_TABLES = {
    "batches": "the id of another batch",
    "checks": "the name of a check",
    "items": "a name in stock.yaml",
}
"""Names that do not stand in one table of one file."""


class ManualField(Struct, frozen=True):
    """One key of a mapping: what it is for, what may stand there, how it is typed."""

    key: str
    anchor: str
    title: str
    description: Markup
    required: bool
    kind: str
    links: tuple[ManualLink, ...]
    examples: tuple[str, ...]


class Section(Struct, frozen=True):
    """One mapping of a file: where it stands and its fields, in the order of the work."""

    anchor: str
    title: str
    paths: tuple[str, ...]
    note: str
    fields: tuple[ManualField, ...]


class RecordFile(Struct, frozen=True):
    """One kind of file."""

    key: str
    title: str
    lead: str
    sections: tuple[Section, ...]

    @property
    def page(self) -> str:
        """Name of the page, without its ending."""
        return f"record-{self.key}"

    @property
    def links(self) -> tuple[ManualLink, ...]:
        """A link to every mapping."""
        return tuple(
            ManualLink(s.title, self.page, s.anchor, s.paths[0] if s.paths else "")
            for s in self.sections
        )


def _table_of(name: str, schemas: Mapping[str, Any]) -> str:
    """Return in words where a name must stand."""
    if name in _TABLES:
        return _TABLES[name]
    for file in ("brewery", "stock"):
        if name in schemas[file]["properties"]:
            return f"a name among the {name} of {file}.yaml"
    return f"a name among the {name}"


class _Walk:
    """Goes through one schema from its top, mapping by mapping, in the order of the fields."""

    def __init__(self, file: str, schemas: Mapping[str, Any]) -> None:
        self.file, self.schemas = file, schemas
        self.schema = schemas[file]
        self.paths: dict[str, list[str]] = {}
        self.readings = False

    @property
    def page(self) -> str:
        """Name of the page that this schema makes."""
        return f"record-{self.file}"

    def definition(self, name: str) -> Any:
        """Return a definition; the top of the file has the empty name."""
        definition: dict[str, Any] = self.schema["$defs"][name] if name else self.schema
        return definition

    def whole(self, reference: str) -> str:
        """Return the definition referred to; that of a partial mapping is the whole one."""
        name = reference.rsplit("/", 1)[-1]
        bare = name.removesuffix("Part")
        return bare if bare in self.schema["$defs"] else name

    def anchor(self, name: str) -> str:
        """Return the anchor of a mapping, unique in the manual."""
        return f"{self.file}.{name}" if name else self.file

    def title(self, name: str) -> str:
        """Return the title of a mapping without what a colon adds to it."""
        return str(self.definition(name).get("title", name)).split(":")[0]

    def inside(self, shape: Any) -> Iterator[tuple[str, str]]:
        """Yield every mapping that a shape leads to, with what is added to the path."""
        if "$ref" in shape:
            name = self.whole(shape["$ref"])
            if not name.startswith(READING):
                yield name, ""
        for key in ("then", "else"):
            if isinstance(shape.get(key), dict):
                yield from self.inside(shape[key])
        for key, added in (("items", "[]"), ("additionalProperties", ".NAME")):
            if isinstance(shape.get(key), dict):
                for name, more in self.inside(shape[key]):
                    yield name, added + more

    def visit(self, name: str, path: str) -> None:
        """Note where a mapping stands and go on into those it holds."""
        known = self.paths.setdefault(name, [])
        if path in known or len(known) > 12:
            return
        if path:
            known.append(path)
        for key, shape in self.definition(name).get("properties", {}).items():
            seen = set()
            for inner, added in self.inside(shape):
                if inner not in seen:
                    seen.add(inner)
                    self.visit(inner, f"{path}.{key}{added}".lstrip("."))

    def kind(self, shape: Any) -> tuple[str, list[ManualLink]]:
        """Return in words what may stand at a key, and the links that explain it."""
        if "$ref" in shape:
            name = self.whole(shape["$ref"])
            if name.startswith(f"{READING}_"):
                self.readings = True
                kind = name.removeprefix(f"{READING}_")
                return f"a reading: {_kind_words(kind)}", [
                    ManualLink("Readings", self.page, READING)
                ]
            return "a mapping", [ManualLink(self.title(name), self.page, self.anchor(name))]
        if "then" in shape or "else" in shape:
            return self.kind(shape.get("else") or shape["then"])
        if "anyOf" in shape or "oneOf" in shape:
            kinds = [self.kind(choice) for choice in shape.get("anyOf") or shape["oneOf"]]
            either = dict.fromkeys(word for word, _ in kinds)
            return ", or ".join(either), [link for _, links in kinds for link in links]
        if shape.get("type") == "array":
            words, links = self.kind(shape["items"])
            return f"a list, each {words}", links
        if isinstance(shape.get("additionalProperties"), dict):
            words, links = self.kind(shape["additionalProperties"])
            return f"names of your own, under each {words}", links
        return _plain(shape, self.schemas), []

    def fields(self, name: str) -> tuple[ManualField, ...]:
        """Return the fields of a mapping."""
        shape = self.definition(name)
        required = set(shape.get("required", ())) | set(shape.get("then", {}).get("required", ()))
        made = []
        for key, field in shape.get("properties", {}).items():
            kind, links = self.kind(field)
            kind += _usual_words(field)
            made.append(
                ManualField(
                    key,
                    f"{self.anchor(name)}.{key}",
                    field.get("title", ""),
                    prose(field.get("description", "")),
                    key in required,
                    kind[0].upper() + kind[1:],
                    tuple(links),
                    tuple(dict.fromkeys(flow(e) for e in field.get("examples", ()))),
                )
            )
        return tuple(made)

    def section(self, name: str) -> Section:
        """Return the section of a mapping."""
        shape = self.definition(name)
        head, _, note = str(shape.get("title", name)).partition(":")
        if "like" in shape.get("properties", {}):
            note = f"{note.strip()}. With `like`, only what differs from that plan is written"
        words = f"{note.strip()}." if note.strip() else ""
        return Section(
            self.anchor(name),
            "Top of the file" if not name else head,
            tuple(self.paths[name]),
            words[:1].upper() + words[1:],
            self.fields(name),
        )

    def reading(self) -> Section:
        """Return the section on readings, from the definition of one kind of them."""
        name = next(n for n in self.schema["$defs"] if n.startswith(f"{READING}_"))
        forms = self.definition(name)["anyOf"]
        long = next(form for form in forms if form.get("type") == "object")
        short = [form for form in forms if form is not long and form.get("title")]
        words = "; ".join(_lower(form["title"]) for form in short)
        own = _Walk(self.file, self.schemas)
        own.schema = {**self.schema, "$defs": {READING: long}}
        note = f"Written as: {words}; or with its circumstances, in the keys below."
        # The definition at hand is of one kind of reading; what is said here holds for all.
        fields = tuple(
            replace(f, kind="A value with its unit") if f.key in ("read", "was") else f
            for f in own.fields(READING)
        )
        return Section(READING, "Readings", (), note, fields)

    def sections(self) -> tuple[Section, ...]:
        """Return every section of the file."""
        self.visit("", "")
        made = [self.section(name) for name in self.paths]
        if self.readings:
            made.append(self.reading())
        return tuple(made)


def _lower(text: str) -> str:
    """Return a title as part of a sentence; words in capitals stay as they are."""
    return text if text[:2].isupper() else text[:1].lower() + text[1:]


def _kind_words(kind: str) -> str:
    return NAMES.get(kind) or _WORDS.get(kind, kind.replace("_", " "))


def _usual_words(shape: Mapping[str, Any]) -> str:
    """Return in words the range in which a value usually lies; empty where none is declared."""
    for key, per in (("x-usual", ""), ("x-usual-per-litre", " per litre of the batch")):
        if key in shape:
            low, high = shape[key]
            return f"; usually {low} to {high}{per}"
    return ""


def _plain(shape: Mapping[str, Any], schemas: Mapping[str, Any]) -> str:
    """Return in words what a value that holds no other may be."""
    if "x-quantity" in shape:
        return _kind_words(shape["x-quantity"])
    if "x-value" in shape:
        return _VALUES.get(shape["x-value"], str(shape["x-value"]))
    if "enum" in shape:
        words = dict.fromkeys(str(word) for word in shape["enum"])
        return "one of " + ", ".join(words) if len(words) > 1 else "always " + "".join(words)
    if "x-names" in shape:
        return _table_of(shape["x-names"], schemas)
    if shape.get("x-shape"):
        return f"text: {shape['x-shape']}"
    if shape.get("type") == "null":
        return "blank"
    if re.search(r"\[01\]", shape.get("pattern", "")):
        return "a time of day, or a day and time"
    return "text"


def record_files() -> tuple[RecordFile, ...]:
    """Return the three kinds of file, field by field."""
    schemas = {
        name: json.loads((schema_dir() / f"{name}.json").read_text(encoding="utf-8"))
        for name, _, _ in FILES
    }
    return tuple(
        RecordFile(name, title, lead, _Walk(name, schemas).sections())
        for name, title, lead in FILES
    )
