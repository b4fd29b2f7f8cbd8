"""Writes the JSON Schemas in ``schema/`` from the model's declarations.

``python -m reportgen.record.describe`` writes them; a test holds that the files are up to date.
Keywords of our own carry what JSON Schema cannot say: ``x-quantity`` (the kind of a quantity with
a unit), ``x-positive`` (it cannot be nought), ``x-whole`` (it is counted), ``x-bounds`` (the least
and the most that it can be, in the base unit), ``x-usual`` and ``x-usual-per-litre`` (the least and
the most that it plausibly is, by itself or for a litre of the batch), ``x-value`` (a day or a
time), ``x-names`` (the table that a name must stand in) and ``x-people`` (initials, as under
``people``). Other tools ignore them.
"""

from __future__ import annotations

import json
import types
import typing
from pathlib import Path
from typing import Any

from reportgen.record.fields import About, Entry
from reportgen.record.model.batch import Record
from reportgen.record.model.brewery import Brewery
from reportgen.record.model.stock import Stock
from reportgen.record.unit_table import WITH_SAMPLE
from reportgen.record.units import Quantity
from reportgen.record.values import Clock, Day, Initials, Moment, Reading, Text, When

DRAFT = "https://json-schema.org/draft/2020-12/schema"
FILES: dict[str, type[Entry]] = {"brewery": Brewery, "stock": Stock, "record": Record}
WRITTEN = ["string", "number"]
"""A quantity is text for us; an editor's YAML parser sees ``1.040`` as a number."""

DAY = r"^\d{4}-\d{2}-\d{2}$"
CLOCK = r"^([01]?\d|2[0-3]):[0-5]\d$"
MOMENT = r"^\d{4}-\d{2}-\d{2} ([01]?\d|2[0-3]):[0-5]\d$"
MISSING = r"^(NOT RECORDED|not done because \S.*)$"
NAME = r"^[0-9A-Za-z][0-9A-Za-z._-]{0,59}$"


_HINTS: dict[type[Any], dict[str, Any]] = {}


def hints(cls: type[Any]) -> dict[str, Any]:
    """Return the resolved type of each field of a model class; resolved once, not to be changed."""
    if cls not in _HINTS:
        _HINTS[cls] = typing.get_type_hints(cls)
    return _HINTS[cls]


def bare(hint: Any) -> Any:
    """Return the type without ``| None``."""
    if isinstance(hint, types.UnionType):
        if set(typing.get_args(hint)) >= {Moment, Clock}:
            return When
        parts = [part for part in typing.get_args(hint) if part is not type(None)]
        return parts[0]
    return hint


def title_of(cls: type[Any]) -> str:
    """Return the title of a model class, the first line of its docstring."""
    return (cls.__doc__ or cls.__name__).splitlines()[0]


TAKEN_AWAY = {
    "type": "null",
    "title": "null: taken away, though the plan that this one starts from has it",
}
"""In a plan that starts from another: the branch of a key that the other has and this has not."""


def _quantity(kind: str) -> dict[str, Any]:
    return {"type": WRITTEN, "x-quantity": kind}


_SAMPLE = {
    **_quantity("temperature"),
    "title": "Temperature of the sample",
    "description": "At the moment of reading.",
    "examples": ["22 C"],
}


def _reading(kind: str) -> dict[str, Any]:
    day = {"type": "string", "pattern": DAY, "x-value": "day"}
    words = {"type": "string", "minLength": 1}
    return {
        "anyOf": [
            {**_quantity(kind), "title": "Value as read, with its unit"},
            {
                "type": "string",
                "pattern": MISSING,
                "title": "NOT RECORDED, or not done because ...",
            },
            {"type": "null", "title": "Still blank"},
            {
                "type": "object",
                "title": "Reading with its circumstances",
                "additionalProperties": False,
                "required": ["read"],
                "properties": {
                    "read": {
                        **_quantity(kind),
                        "title": "Value as read",
                        "description": "With its unit.",
                        "examples": ["65.4 C"] if kind == "temperature" else ["1.038"],
                    },
                    "at": {
                        "type": "string",
                        "pattern": f"{CLOCK}|{MOMENT}",
                        "x-value": "time",
                        "title": "Time",
                        "description": "24 hours; with the day when it is not the brew day.",
                        "examples": ["09:20", "2026-03-14 09:20"],
                    },
                    **({"sample": _SAMPLE} if kind in WITH_SAMPLE else {}),
                    "again": {
                        **_quantity(kind),
                        "title": "Read again",
                        "description": "A second reading, in the unit of the first; the mean of "
                        "both counts.",
                        "examples": ["65.6 C"] if kind == "temperature" else ["1.039"],
                    },
                    "instrument": {
                        **words,
                        "x-names": "instruments",
                        "title": "Instrument",
                        "description": "Its name in brewery.yaml.",
                        "examples": ["hydrometer_1"],
                    },
                    "by": {
                        **words,
                        "x-people": True,
                        "title": "By",
                        "description": "Initials.",
                        "examples": ["RB"],
                    },
                    "was": {
                        **_quantity(kind),
                        "title": "Was",
                        "description": "What stood here before it was corrected.",
                        "examples": ["65.4 C"] if kind == "temperature" else ["1.083"],
                    },
                    "amended_by": {
                        **words,
                        "x-people": True,
                        "title": "Corrected by",
                        "description": "Initials of who corrected it.",
                        "examples": ["RB"],
                    },
                    "amended_on": {
                        **day,
                        "title": "Corrected on",
                        "description": "Day of the correction.",
                        "examples": ["2026-03-15"],
                    },
                    "because": {
                        **words,
                        "title": "Because",
                        "description": "Why it was corrected.",
                        "examples": ["figures swapped in typing"],
                    },
                },
                "dependentRequired": {"was": ["amended_by"]},
            },
        ]
    }


_WRITTEN: dict[Any, dict[str, Any]] = {
    Day: {"type": "string", "pattern": DAY, "x-value": "day"},
    Clock: {"type": "string", "pattern": CLOCK, "x-value": "clock"},
    Moment: {"type": "string", "pattern": MOMENT, "x-value": "moment"},
    When: {"type": "string", "pattern": f"{CLOCK}|{MOMENT}", "x-value": "time"},
    Initials: {"type": WRITTEN, "minLength": 1, "x-people": True},
}
"""How values of one form are written."""


def _shape(
    hint: Any, said: About, definitions: dict[str, Any], part: bool = False
) -> dict[str, Any]:
    hint = bare(hint)
    origin = typing.get_origin(hint)
    if origin is tuple:
        items = _shape(typing.get_args(hint)[0], _NOTHING_SAID, definitions)
        least = {"minItems": 1} if said.required or said.filled else {}
        return {"type": "array", **least, "items": items}
    if origin is dict:
        return _table(typing.get_args(hint)[1], said, definitions)
    if hint is Quantity:
        return _limited_quantity(said)
    if hint is Reading:
        kind = said.kind or "count"
        definitions[f"reading_{kind}"] = _reading(kind)
        return {"$ref": f"#/$defs/reading_{kind}"}
    if hint in _WRITTEN:
        return dict(_WRITTEN[hint])
    if hint is Text:
        return _word(said)
    if isinstance(hint, type) and issubclass(hint, Entry):
        if "like" in hint.fields:
            whole, some = _defined(hint, definitions), _defined(hint, definitions, part=True)
            return {"if": {"required": ["like"]}, "then": some, "else": whole}
        return _defined(hint, definitions, part)
    raise TypeError(f"no schema for {hint!r}")


_NOTHING_SAID = About("", "", ())


def _table(inner: Any, said: About, definitions: dict[str, Any]) -> dict[str, Any]:
    """Return the shape of entries by their names."""
    table: dict[str, Any] = {"type": "object"}
    if inner is Quantity:
        # Under a word or a key of ours: a check looks it up.
        table["additionalProperties"] = _quantity(said.kind or "count")
    else:
        table["propertyNames"] = {"pattern": NAME}
        table["additionalProperties"] = _shape(inner, _NOTHING_SAID, definitions)
    if not said.dated:
        return table
    some: dict[str, Any] = {**table, "properties": _DATED, "required": ["from"]}
    return {**table, "properties": {"since": _since(some)}}


def _limited_quantity(said: About) -> dict[str, Any]:
    """Return the shape of a quantity, with what its field allows less than its kind."""
    shape = _quantity(said.kind or "count")
    if said.positive:
        shape["x-positive"] = True
    if said.whole:
        shape["x-whole"] = True
    if said.bounds:
        shape["x-bounds"] = list(said.bounds)
    return shape


def _word(said: About) -> dict[str, Any]:
    """Return the shape of a word or a text."""
    shape: dict[str, Any] = {"type": WRITTEN, "minLength": 1}
    if said.choices:
        # An editor reads `format: 1` as a number, so both spellings are allowed.
        spelt: list[Any] = list(said.choices)
        spelt += [int(word) for word in said.choices if word.isdigit()]
        shape = {"enum": spelt}
    if said.pattern:
        shape = {**shape, "pattern": said.pattern, "x-shape": said.shape}
    if said.names:
        shape["x-names"] = said.names
    return shape


_DATED = {
    "from": {
        "title": "From",
        "description": "Day from which it holds.",
        "type": "string",
        "pattern": DAY,
        "x-value": "day",
        "examples": ["2026-07-01"],
    },
    "because": {
        "title": "Because",
        "description": "Why it changed.",
        "type": "string",
        "minLength": 1,
        "examples": ["history of 12 batches"],
    },
}


def _since(part: dict[str, Any]) -> dict[str, Any]:
    return {
        "title": "Since",
        "description": "What changed on a day, the earliest first. A batch goes by what held when "
        "its sheet was issued, else on its brew day, else by the latest.",
        "type": "array",
        "minItems": 1,
        "items": part,
        "examples": [[{"from": "2026-07-01", "because": "history of 12 batches"}]],
    }


NOT_HANDED_ON = ("like", "revision", "brew_on", "written_by", "wort_to_others")
"""Keys of a plan that the plan starting from it does not get."""


def _defined(
    cls: type[Entry], definitions: dict[str, Any], part: bool = False
) -> dict[str, Any]:
    """Return a reference to the definition of a mapping, making it if it is not there yet."""
    name = f"{cls.__name__}Part" if part else cls.__name__
    if name not in definitions:
        definitions[name] = {}
        definitions[name] = entry_schema(cls, definitions, part)
    return {"$ref": f"#/$defs/{name}"}


def entry_schema(
    cls: type[Entry], definitions: dict[str, Any], part: bool = False
) -> dict[str, Any]:
    """Return the schema of one mapping, putting nested ones into ``definitions``.

    ``part``: of a plan that starts from another and states only what differs, so that no key of
    it, nor of the mappings in it, is required. Items of lists are always whole.
    """
    properties: dict[str, Any] = {}
    required: list[str] = []
    for name, field in cls.fields.items():
        said = field.about
        shape = _shape(hints(cls)[name], said, definitions, part)
        if part and not said.required and field.key not in NOT_HANDED_ON:
            shape = {"anyOf": [shape, TAKEN_AWAY]}
        examples = list(said.examples) or _examples_of(hints(cls)[name])
        properties[field.key] = {
            "title": said.title,
            "description": said.description,
            **shape,
            **_usual(said),
            "examples": examples,
        }
        if said.required:
            required.append(field.key)
    if getattr(cls, "is_dated", False) and not part:
        name = f"{cls.__name__}Since"
        definitions[name] = {}
        some = entry_schema(cls, definitions, part=True)
        some = {**some, "properties": {**_DATED, **some["properties"]}, "required": ["from"]}
        definitions[name] = some
        properties["since"] = _since({"$ref": f"#/$defs/{name}"})
    schema: dict[str, Any] = {
        "title": title_of(cls),
        "type": "object",
        "additionalProperties": False,
        "properties": properties,
    }
    if required and not part:
        schema["required"] = required
    return schema


def _usual(said: About) -> dict[str, list[str]]:
    """Return the least and the most that a value plausibly is."""
    usual = {"x-usual": said.usual, "x-usual-per-litre": said.usual_per_litre}
    return {key: list(bounds) for key, bounds in usual.items() if bounds is not None}


def _examples_of(hint: Any) -> list[Any]:
    """Make the example of a mapping or list from the examples of its required fields."""
    hint = bare(hint)
    origin = typing.get_origin(hint)
    if origin is tuple:
        return [[example] for example in _examples_of(typing.get_args(hint)[0])]
    if origin is dict:
        return [{"name": example} for example in _examples_of(typing.get_args(hint)[1])]
    if not (isinstance(hint, type) and issubclass(hint, Entry)):
        return []
    example: dict[str, Any] = {}
    for name, field in hint.fields.items():
        if field.about.required or not example:
            examples = list(field.about.examples) or _examples_of(hints(hint)[name])
            if examples:
                example[field.key] = examples[0]
    return [example]


def file_schema(cls: type[Entry]) -> dict[str, Any]:
    """Return the whole JSON Schema of one kind of file."""
    definitions: dict[str, Any] = {}
    schema = entry_schema(cls, definitions)
    return {"$schema": DRAFT, **schema, "$defs": dict(sorted(definitions.items()))}


def render(cls: type[Entry]) -> str:
    """Return the text of the schema file of one kind of file."""
    return json.dumps(file_schema(cls), indent=2, ensure_ascii=False) + "\n"


def write(folder: Path) -> None:
    """Write the three schema files into a folder."""
    for name, cls in FILES.items():
        (folder / f"{name}.json").write_text(render(cls), encoding="utf-8")


if __name__ == "__main__":
    write(Path(__file__).parents[2] / "schema")
