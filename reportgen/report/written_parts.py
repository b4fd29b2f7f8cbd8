"""Inputs of a page that can be written on, each from the field of the record that it fills.

A field of the page has an ``id``, its place in the record, and parts: what is typed into it. A
part without a name is the value itself; the others are the keys of a mapping.
"""

from __future__ import annotations

import typing
from collections.abc import Iterable
from typing import Any

from reportgen.assessment.assess import Assessment
from reportgen.record.describe import bare, hints
from reportgen.record.fields import About
from reportgen.record.kinds import KINDS
from reportgen.record.model.batch import Record
from reportgen.record.printed import Units
from reportgen.record.unit_names import EXACT
from reportgen.record.values import Clock, Day, Initials, Moment, Text, When
from reportgen.report.parts import Blank

Field = dict[str, Any]
Part = dict[str, Any]

INPUTS: dict[str, dict[str, str]] = {
    "main": {"type": "text", "inputmode": "decimal", "enterkeyhint": "next",
             "class": "digits main"},
    "digits": {"type": "text", "inputmode": "decimal", "enterkeyhint": "next", "class": "digits"},
    "count": {"type": "text", "inputmode": "numeric", "enterkeyhint": "next", "class": "digits"},
    "text": {"type": "text"},
    "short": {"type": "text", "class": "lot"},
    "words": {"rows": "2"},
    "time": {"type": "time", "class": "time"},
    "moment": {"type": "datetime-local", "class": "moment"},
    "date": {"type": "date"},
    "choice": {},
    "mark": {},
}  # fmt: skip
"""Attributes of each kind of input: the keyboard it brings up, its size."""

_TYPES = {Clock: "time", Moment: "moment", When: "time", Day: "date"}
_MEASURES = ("gal", "qt", "pt", "fl oz")


def unit_typed(kind: str, system: str) -> str:
    """Return the unit of a kind as it is typed after a number, with its space; empty for none."""
    label = Units(system).label(kind).replace("°", "")
    return f" {label}" if label else ""


def part(name: str, made: str, label: str, **more: Any) -> Part:
    """Return a part: its key, how it is made (one of ``INPUTS``), what a screen reader calls it.

    ``unit`` is shown behind it and ``typed`` written after its number; ``before`` is shown in
    front; ``more`` is left out of sight until something is typed; ``kind`` is that of its quantity.
    """
    return {"name": name, "is": made, "label": label, **{k: v for k, v in more.items() if v}}


def initials(assessment: Assessment, label: str, name: str = "by", **more: Any) -> Part:
    """Return the part for initials: a choice of the people of the house, where it names them."""
    people = [str(p) for p in assessment.brewery.people]
    choices = [["", "by"], *([who, who] for who in people)] if people else None
    kind = "choice" if people else "short"
    return part(name, kind, label, choices=choices, width=None if people else "who", **more)


def chosen(name: str, label: str, words: Iterable[str], none: str = "", **more: Any) -> Part:
    """Return a choice of words of the record."""
    options = [["", none], *([word, word.replace("_", " ")] for word in words)]
    return part(name, "choice", label, choices=options, **more)


def measured(kind: str, unit: str, system: str) -> dict[str, str]:
    """Return kind, unit shown and unit typed of a number; ``unit`` as it is printed on the sheet.

    A gallon or a pint says which one when it is typed.
    """
    typed = unit.replace("°", "")
    if typed in _MEASURES:
        typed = f"{'US' if system == 'US' else 'imp'} {typed}"
    return {"kind": kind, "unit": unit, "typed": f" {typed}" if typed else ""}


def units_of(kinds: Iterable[str], system: str) -> dict[str, dict[str, list[float] | None]]:
    """Return what may be typed after a number of each kind, and what it is in the printed unit.

    (factor, offset) of each unit, in small letters; None for one that is read but has a verdict
    only in the record.
    """
    units = Units(system)
    by_kind: dict[str, dict[str, list[float] | None]] = {}
    for kind in sorted(set(kinds)):
        reads = KINDS[kind].reads if kind in KINDS else (kind,)
        names: dict[str, list[float] | None] = {}
        for (of, name), unit in EXACT.items():
            if of not in reads:
                continue
            simple = len(reads) == 1 and not unit.scale
            at = [units.converted((n + unit.offset) * unit.factor, kind) if simple else 0.0
                  for n in (0.0, 1.0)]  # fmt: skip
            names[name.lower()] = [at[1] - at[0], at[0]] if simple else None
        by_kind[kind] = names
    return by_kind


def declared(place: str) -> tuple[Any, About]:
    """Return type and declaration of a field of the record, by its dotted place."""
    cls: Any = Record
    said: About | None = None
    for step in place.split("."):
        if step.isdigit():
            continue
        field = next(f for f in cls.fields.values() if f.key == step)
        said = field.about
        cls = bare(hints(cls)[field.name])
        if typing.get_origin(cls) is tuple:
            cls = typing.get_args(cls)[0]
    assert said is not None, place
    return cls, said


def part_of(assessment: Assessment, place: str, name: str, label: str, unit: str = "") -> Part:
    """Return the input for a field of the record; ``unit`` as printed, where it is a number."""
    hint, said = declared(place)
    system = assessment.brewery.system
    if hint in _TYPES:
        return part(name, _TYPES[hint], label)
    if hint is Initials:
        return initials(assessment, label, name)
    if hint is Text:
        return chosen(name, label, said.choices) if said.choices else part(name, "text", label)
    shown = unit or Units(system).label(said.kind)
    kind = "count" if said.whole else "digits"
    return part(name, kind, f"{label}, {shown}" if shown else label,
                **measured(said.kind, shown, system))  # fmt: skip


def required(place: str) -> list[str]:
    """Return the keys without which an entry of the record is refused."""
    cls, _ = declared(place)
    return [field.key for field in cls.fields.values() if field.about.required]


def blanks(assessment: Assessment, given: Iterable[Blank], apart: str = "") -> list[Field]:
    """Return the fields of blanks that stand in no row; those of one entry are one field.

    Not so of the entry ``apart``, which has rows as well.
    """
    fields: dict[str, Field] = {}
    events = 0
    for blank in given:
        if not blank.place:
            continue
        where = blank.at
        if blank.place == EVENTS:
            events += 1
            fields[where] = {
                "id": f"{EVENTS}.{FIRST_EVENT + events}", "title": blank.label,
                "parts": [part("at", "moment", f"{blank.label}: at", at=where)],
                "needs": ["at"], "also": [["note", blank.label]],
            }  # fmt: skip
            continue
        entry, _, key = blank.place.rpartition(".")
        parts = entry.split(".")
        if entry != apart and (parts[-1].isdigit() or entry in ENTRIES):
            field = fields.setdefault(
                entry,
                {"id": entry, "title": _words(entry), "parts": [], "needs": required(entry),
                 "fixed": [list(pair) for pair in blank.fixed]},
            )  # fmt: skip
            label = blank.label if entry in ENTRIES else f"{_words(entry)}: {key}"
            made = part_of(assessment, blank.place, key, label, blank.unit)
            field["parts"].append(made | {"at": where})
        else:
            label = f"{blank.label}: time" if blank.size == "time" else blank.label
            made = part_of(assessment, blank.place, "", label, blank.unit)
            fields[where] = {"id": blank.place, "at": where, "title": blank.label, "parts": [made]}
    for entry, field in fields.items():
        _complete(assessment, entry, field)
    return list(fields.values())


EVENTS = "fermentation.log"
FIRST_EVENT = 1000
"""Events of the log are numbered after its days."""

ENTRIES = ("fermentation.harvest",)
"""Mappings of the record that several blanks of a sheet fill."""


def _words(entry: str) -> str:
    steps = entry.split(".")
    return f"{steps[-2]} {steps[-1]}".capitalize() if steps[-1].isdigit() else steps[-1].title()


def _complete(assessment: Assessment, entry: str, field: Field) -> None:
    """Put in what an entry cannot do without and the paper has no blank for: when it was."""
    stands = {key for key, _ in field.get("fixed", ())}
    have = {p["name"] for p in field["parts"]}
    field["needs"] = [key for key in field.get("needs", ()) if key not in stands]
    for key in field["needs"]:
        if key not in have:
            label = f"{field['title']}: {key}"
            first = field["parts"][0]["at"]
            field["parts"].append(
                part_of(assessment, f"{entry}.{key}", key, label) | {"at": first, "more": True}
            )
