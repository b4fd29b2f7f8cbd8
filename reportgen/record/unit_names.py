"""Which unit a word means: spelling, case, which gallon; and why some units are not read."""

from __future__ import annotations

import functools
import re

from reportgen.record.quantity import UnitError, refuse
from reportgen.record.suggest import nearest
from reportgen.record.unit_table import KINDS, NAMES, UNITS, WITH_SAMPLE, Unit

# Patterns are left to the re module's own cache: most records need none of them.


EXACT: dict[tuple[str, str], Unit] = {
    (unit.kind, name): unit for unit in UNITS for name in (unit.name, *unit.also)
}
"""Every unit by kind and spelling; the spellings in the table are cleaned already."""


@functools.cache
def _folded() -> dict[tuple[str, str], Unit]:
    """Return the same without regard to upper and lower case."""
    folded: dict[tuple[str, str], Unit] = {}
    for (kind, name), unit in EXACT.items():
        folded.setdefault((kind, name.casefold()), unit)
    return folded


_CASED = {"mL", "mg", "mbar", "mg/L", "mL/min", "mL/g", "mm", "t", "MPa", "MW", "MJ"}
"""Units that would be a thousand or a million times another if the case did not count."""

_BARE = (
    r"(?i)(gals?|gallons?|qts?|quarts?|pts?|pints?|fl\.? ?oz\.?|fluid ounces?|bbls?|barrels?)"
    r"(?=$|/| per )"
)
_BARE_NAMES = {"g": "gal", "q": "qt", "p": "pt", "f": "fl oz", "b": "bbl"}
_MEASURES = {"g": "gallon", "q": "quart", "p": "pint", "f": "fluid ounce", "b": "barrel"}
_TRAILING = r"(?i)^(.*?) ?\(?\b(US|UK|imp|imperial)\)?$"
_SYSTEM = r"(?i)^(u\.?s\.?|u\.?k\.?|imp\.?|imperial) ?(?=[a-z])"
_CHOICES = {"us": "US", "imperial": "imp", "imp": "imp", "uk": "imp"}

_SPOONS = ("tsp", "teaspoon", "tbsp", "tablespoon", "cup", "pinch", "handful", "drop", "dash")
_REASONS: dict[str, str] = {
    **{
        name: "spoons and cups differ, and how full they are; weigh it and write g, or draw up a "
        "liquid and write mL"
        for name in _SPOONS
    },
    "packet": "packets differ; write the weight on it in g",
    "sachet": "sachets differ; write the weight on it in g",
    "pack": "packs differ; write the weight on it in g",
    "tablet": "tablets differ; write the weight in g",
    "stick": "sticks differ; write the length or weight",
    "gr": "some mean gram by it and some grain (0.0648 g); write g",
    "grain": "write the weight in mg (1 grain is 64.8 mg)",
    "'": "write min for minutes",
    "ton": "a ton differs from country to country; write t (1000 kg), kg or lb",
    "cwt": "a hundredweight is 100 lb in one country and 112 lb in another; write lb or kg",
    "month": "months differ in length; write days (d)",
    "year": "write days (d)",
    "psia": "that is absolute; write the gauge pressure, psi less the pressure of the air",
    "bara": "that is absolute; write the gauge pressure, bar less the pressure of the air",
    "dh": "write mg/L; 1 German degree is 17.8 mg/L as CaCO3",
    "fh": "write mg/L; 1 French degree is 10 mg/L as CaCO3",
    "meq/l": "write mg/L; 1 meq/L of alkalinity is 50.04 mg/L as CaCO3",
    "mmol/l": "write mg/L: multiply by the molar mass",
    "points": "write the specific gravity itself, e.g. 1.038",
    "oe": "write the specific gravity; 38 Oechsle is 1.038",
    "kg/m3": "write the specific gravity, e.g. 1.038",
    "g/ml": "write the specific gravity, e.g. 1.038",
    "balling": "write P (degrees Plato)",
    "%/h": "write the volume lost in an hour, e.g. 4.5 L/h",
}


def reason_in(text: str) -> str:
    """Return why a word of a text, such as a packet, is no unit; empty where none is known."""
    words = (word.rstrip("s") for word in re.findall("[a-z]+", text.lower()))
    return next((_REASONS[word] for word in words if word in _REASONS), "")


def find_unit(text: str, number: str, unit: str, kind: str, gallon: str | None) -> Unit:
    """Return the row of a unit, or raise saying why it cannot be used."""
    named = _with_system(unit, gallon)
    if named is None:
        raise _two_gallons(text, number, unit, kind)
    if row := EXACT.get((kind, named)) or EXACT.get((kind, unit)):
        return row
    if row := _folded().get((kind, named.casefold())):
        if row.name in _CASED:
            raise refuse(
                f"`{unit}` is not a unit here; the case of the letters counts",
                kind,
                f"did you mean `{number} {row.name}`?",
            )
        return row
    return _other_unit(text, number, named, kind)


def _two_gallons(text: str, number: str, unit: str, kind: str) -> UnitError:
    us = _with_system(unit, "US")
    assert us is not None
    if (kind, us) not in EXACT:
        # Whether it is a unit of this kind at all comes first.
        _other_unit(text, number, us, kind)
    imperial = _with_system(unit, "imperial")
    return refuse(
        f"`{text}` does not say which: a US and an imperial {_MEASURES[unit[0].lower()]} differ",
        kind,
        f"write {number} {us} or {number} {imperial}, or set `gallon` in brewery.yaml",
    )


def _with_system(unit: str, gallon: str | None) -> str | None:
    """Return a unit with its gallon named in the table's way; None if it does not say which."""
    if (trailing := re.match(_TRAILING, unit)) and re.match(_BARE, trailing[1]):
        unit = f"{trailing[2]} {trailing[1]}"
    system = ""
    if prefix := re.match(_SYSTEM, unit):
        rest = unit[prefix.end() :]
        if re.match(_BARE, rest):
            system = _CHOICES[prefix[1].replace(".", "").lower()]
            unit = rest
    bare = re.match(_BARE, unit)
    if bare is None:
        return unit
    system = system or _CHOICES.get((gallon or "").lower(), "")
    if not system:
        return None
    tail = unit[bare.end() :].replace(" per ", "/")
    return f"{system} {_BARE_NAMES[unit[0].lower()]}{tail}"


def _other_unit(text: str, number: str, unit: str, kind: str) -> Unit:
    """Read a unit that is not in the table for a kind; raise unless the library knows it."""
    folded = unit.casefold().lstrip("°").rstrip(".")
    for word in (folded, folded.removesuffix("s"), folded.split(" ")[0].removesuffix("s")):
        if _REASONS.get(word):
            raise refuse(f"`{unit}` is not read", kind, _REASONS[word])
    if kind == "time" and unit in ("m", "M"):
        raise refuse("`m` is a metre", kind, f"write {number} min")
    if kind == "volume" and folded in ("oz", "ounce", "ounces"):
        raise refuse(f"`{text}` is a mass; a volume is wanted", kind, "write US fl oz or imp fl oz")
    known = [name for of, name in EXACT if of == kind]
    near = nearest(unit, known)
    for other in ("concentration", *KINDS):
        if (other, unit) in EXACT or (other, folded) in _folded():
            raise _wrong_kind(text, other, kind)
    from reportgen.record import unit_library

    in_library = unit_library.look_up(unit)
    if in_library is not None:
        if in_library[0] != kind:
            raise _wrong_kind(text, in_library[0], kind)
        return Unit(unit, kind, in_library[1], unit)
    remedy = _with_more(number, unit, kind) or (f"did you mean `{number} {near}`?" if near else "")
    if kind in ("fraction", "alpha") and unit.startswith("%"):
        remedy = f"write {number} % alone; what it is a share of is plain from its place"
    if kind in ("ph", "count", "ratio"):
        remedy = remedy or f"write {number} alone"
    raise refuse(f"`{unit}` is not a unit of {NAMES[kind]}", kind, remedy)


def _with_more(number: str, unit: str, kind: str) -> str:
    """Return the way to write a value that has a unit and more words behind it."""
    bare = ("", "SG", "pH") if kind in ("gravity", "ph") else ()
    words = re.fullmatch(r"([^ @(]*) ?(.*)", unit)
    first, rest = (words[1], words[2]) if words else ("", "")
    if first == "at":
        first, rest = "", unit
    if not rest or ((kind, first) not in EXACT and first not in bare):
        return ""
    plain = number if first in bare else f"{number} {first}"
    sample = re.fullmatch(r"\(?(?:at|@) ?([0-9.]+) ?°?([CF])\)?", rest)
    if sample and kind in WITH_SAMPLE:
        return f"write {{read: {plain}, sample: {sample[1]} {sample[2]}}}"
    if re.search("[0-9]", rest):
        return ""
    return f"write {plain} alone; the rest belongs in a note"


def _wrong_kind(text: str, given: str, wanted: str) -> UnitError:
    return refuse(f"`{text}` is {NAMES[given]}; {NAMES[wanted]} is wanted", wanted)
