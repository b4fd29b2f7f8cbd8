"""Quantities as brewers write them, in metric, US and imperial units.

A quantity is a number and a unit in one text: ``65.4 C``, ``4.75 US gal``, ``5 lb 4 oz``. It is
turned into the base unit of its kind once, here; everything behind the record computes in base
units only. What can be misread is refused with the way to write it, never guessed.
"""

from __future__ import annotations

import datetime
import math
import re
import unicodedata
from dataclasses import dataclass

from reportgen.record.finding import Position
from reportgen.record.suggest import nearest
from reportgen.record.unit_table import BASE, EXAMPLES, KINDS, NAMES, UNITS, Unit

__all__ = [
    "KINDS",
    "Quantity",
    "UnitError",
    "convert",
    "display_unit",
    "format_quantity",
    "parse_clock",
    "parse_date",
    "parse_moment",
    "parse_quantity",
    "to_display",
]


class UnitError(Exception):
    """A text that is no quantity, date or time: what is wrong, what is expected, how to mend it."""

    def __init__(self, message: str, expected: str = "", remedy: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.expected = expected
        self.remedy = remedy


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit.

    ``value`` is in the base unit of ``kind``; a gravity and a cell density keep the scale they are
    written in, and ``unit`` then names that scale (``SG``, ``P``, ``Bx``; ``billion/mL``,
    ``billion/g``). ``text`` is what was written, ``number`` and ``unit`` its parts; of
    ``5 lb 4 oz`` they are 84 and ``oz``. ``step`` is one unit of the last decimal written, in the
    base unit: 0.1 for ``65.4 C``. A pressure is a gauge pressure.
    """

    value: float
    kind: str
    text: str
    number: float
    unit: str
    step: float
    position: Position | None = None


_LONGEST = 60
_FIGURES = 15
_LARGEST = 1e9
_PLAIN = ("gravity", "ph", "count", "ratio")
_SIGNED = ("temperature", "temperature_difference", "gravity", "length")
_NUMBER = re.compile(r"([+-]?)([0-9]*)(?:(\.)([0-9]*))?(?:[eE]([+-]?[0-9]{1,3})(?![0-9A-Za-z]))?")
_PART = re.compile(r"([0-9]+(?:\.[0-9]*)?|\.[0-9]+) ?([A-Za-z][A-Za-z. ]*?) ?(?=[0-9.]|$)")
_COMPOUND = ("volume", "mass", "time", "length")


def _clean(text: str) -> str:
    """Return a text with its spaces, signs and look-alike characters made the same."""
    text = text.replace("\u00ba", "°").replace("\u02da", "°").replace("\u2212", "-")
    text = unicodedata.normalize("NFKC", text).replace("\u2044", "/")
    return " ".join(text.split())


def _index() -> tuple[dict[tuple[str, str], Unit], dict[tuple[str, str], Unit]]:
    exact: dict[tuple[str, str], Unit] = {}
    folded: dict[tuple[str, str], Unit] = {}
    for unit in UNITS:
        for name in (unit.name, *unit.also):
            exact[unit.kind, _clean(name)] = unit
            folded.setdefault((unit.kind, _clean(name).casefold()), unit)
    return exact, folded


_EXACT, _FOLDED = _index()
_CASED = {"mL", "mg", "mbar", "mg/L", "mL/min", "mL/g", "mm", "t", "MPa", "MW", "MJ"}
"""Units that would be a thousand or a million times another if the case did not count."""

_BARE = re.compile(
    r"(gals?|gallons?|qts?|quarts?|pts?|pints?|fl\.? ?oz\.?|fluid ounces?|bbls?|barrels?)"
    r"(?=$|/| per )",
    re.IGNORECASE,
)
_BARE_NAMES = {"g": "gal", "q": "qt", "p": "pt", "f": "fl oz", "b": "bbl"}
_TRAILING = re.compile(r"^(.*?) ?\(?\b(US|UK|imp|imperial)\)?$", re.IGNORECASE)
_SYSTEM = re.compile(r"^(u\.?s\.?|u\.?k\.?|imp\.?|imperial) ?(?=[a-z])", re.IGNORECASE)
_CHOICES = {"us": "US", "imperial": "imp", "imp": "imp", "uk": "imp"}

_SPOONS = ("tsp", "teaspoon", "tbsp", "tablespoon", "cup", "pinch", "handful", "drop", "dash")
_REASONS: dict[str, str] = {
    **{
        name: "spoons and cups differ, and how full they are; weigh it and write g"
        for name in _SPOONS
    },
    "packet": "packets differ; write the weight on it in g",
    "sachet": "sachets differ; write the weight on it in g",
    "pack": "packs differ; write the weight on it in g",
    "tablet": "tablets differ; write the weight in g",
    "stick": "sticks differ; write the length or weight",
    "gr": "some mean gram by it and some grain (0.0648 g); write g",
    "grain": "write the weight in mg (1 grain is 64.8 mg)",
    "ton": "a ton differs from country to country; write t (1000 kg), kg or lb",
    "cwt": "a hundredweight is 100 lb in one country and 112 lb in another; write lb or kg",
    "month": "months differ in length; write days (d)",
    "year": "write days (d)",
    "m": "",
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
_MARKS = re.compile(
    r"^(~|≈|<|>|≤|≥|±|\+/-|\+-|ca\.?|c\.|circa|about|approx\.?|around)\s*", re.IGNORECASE
)
_NO_NUMBER = re.compile(r"^[+-]?\.?(nan|inf|infinity)\b", re.IGNORECASE)


def _refuse(message: str, kind: str, remedy: str = "") -> UnitError:
    return UnitError(message, EXAMPLES[kind], remedy)


def parse_quantity(
    text: str, kind: str, position: Position | None = None, gallon: str | None = None
) -> Quantity:
    """Read a quantity of one kind.

    ``gallon`` (``US`` or ``imperial``) says what a bare gallon, quart, pint, fluid ounce or barrel
    is. Raises :class:`UnitError` for anything that is no quantity of that kind, or could be two.
    """
    if kind not in BASE:
        raise ValueError(f"no kind of quantity: {kind}")
    if len(text) > _LONGEST:
        raise _refuse("this is too long to be a number with a unit", kind)
    clean = _clean(text)
    if not clean:
        raise _refuse("there is no number", kind)
    body = _without_name(clean, kind)
    found = _NUMBER.match(body)
    if found is None or not (found[2] or found[4]):
        raise _no_number(text, clean, kind)
    rest = body[found.end() :]
    _check_form(clean, body, found[0], rest, kind)
    if kind in _COMPOUND and re.search(r"[0-9]", rest) and found[1] != "-":
        parts = _PART.findall(body.lstrip("+"))
        if len(parts) > 1 and "".join(n + u for n, u in parts).replace(" ", "") == body.lstrip(
            "+"
        ).replace(" ", ""):
            return _compound(text, parts, kind, position, gallon)
        if re.fullmatch(r" ?[A-Za-z. ]+ [0-9.]+", rest):
            raise _refuse(f"`{text}`: the last number has no unit", kind)
    return _single(text, body, found, rest.strip(), kind, position, gallon)


def _without_name(clean: str, kind: str) -> str:
    """Drop a leading "SG" or "pH", which people write as a name before the number."""
    name = {"gravity": r"S\.?G\.?", "ph": "pH"}.get(kind)
    return re.sub(rf"^{name}\s*[:=]?\s*(?=[0-9.])", "", clean, flags=re.I) if name else clean


def _no_number(text: str, clean: str, kind: str) -> UnitError:
    if _NO_NUMBER.match(clean):
        return _refuse(f"`{text}` is no number", kind, "write NOT RECORDED if it was not read")
    if mark := _MARKS.match(clean):
        rest = clean[mark.end() :]
        return _refuse(
            f"`{text}` begins with `{mark[1]}`",
            kind,
            f"write {rest} as it was read; say how sure it is in the remarks",
        )
    if re.match(r"^[+-]?,[0-9]", clean):
        return _refuse(
            f"`{text}` has a decimal comma", kind, f"write {clean.replace(',', '0.', 1)}"
        )
    return _refuse(f"`{text}` does not begin with a number", kind)


def _check_form(clean: str, body: str, number: str, rest: str, kind: str) -> None:
    """Refuse what follows a number and is neither a unit nor the next part of a compound."""
    if comma := re.match(r"^,([0-9]+)(.*)$", rest):
        pointed = f"{number}.{comma[1]}{comma[2]}"
        if len(comma[1]) == 3 and "." not in number:
            joined = f"{number}{comma[1]}{comma[2]}"
            raise _refuse(f"`{clean}` has a comma", kind, f"write {pointed} or {joined}")
        raise _refuse(f"`{clean}` has a decimal comma", kind, f"write {pointed}")
    if share := re.match(r"^(?: ([0-9]+))?/([0-9]+)(.*)$", rest):
        whole, top = (float(number), share[1]) if share[1] else (0.0, number)
        bottom = float(share[2])
        value = whole + float(top) / bottom if bottom else math.inf
        write = f"write {value:.4g}{share[3]}" if math.isfinite(value) else ""
        raise _refuse(f"`{clean}` is a common fraction", kind, write)
    if re.match(r"^ ?([-\u2013\u2014\u2026]|to|bis|\.\.+|or)\s*[0-9.]", rest):
        raise _refuse(
            f"`{clean}` is a range", kind, "write the one value that was read or is wanted"
        )
    if re.match(r"^ ?(±|\+/-|\+-)", rest):
        raise _refuse(
            f"`{clean}` has an uncertainty",
            kind,
            f"write {number} with its unit; the uncertainty belongs to the instrument",
        )
    if clock := re.match(r"^:([0-5][0-9])$", rest):
        write = f"{number} h {clock[1]} min" if kind == "time" else ""
        raise _refuse(f"`{clean}` is a time of day", kind, f"write {write}" if write else "")
    if thousands := re.match(r"^((?: [0-9]{3})+)(?![0-9])(.*)$", rest):
        joined = number + thousands[1].replace(" ", "") + thousands[2]
        raise _refuse(f"`{clean}` has spaces within the number", kind, f"write {joined}")
    if re.match(r"^[.:'`_][0-9]", rest):
        raise _refuse(f"`{clean}` is no number", kind)


def _figures(text: str, found: re.Match[str], kind: str) -> tuple[float, float]:
    """Return a number and one unit of its last decimal."""
    _, whole, _, decimals, exponent = found.groups()
    decimals = decimals or ""
    if len((whole + decimals).lstrip("0")) > _FIGURES or len(whole + decimals) > 2 * _FIGURES:
        raise _refuse(f"`{text}` has more figures than any instrument gives", kind)
    power = int(exponent or 0)
    if abs(power) > 2 * _FIGURES:
        raise _refuse(f"`{text}` is beyond any number of a brewhouse", kind)
    number = float(found[0])
    return number, 10.0 ** (power - len(decimals))


def _single(
    text: str,
    body: str,
    found: re.Match[str],
    unit: str,
    kind: str,
    position: Position | None,
    gallon: str | None,
) -> Quantity:
    number, last = _figures(text, found, kind)
    if not unit:
        if kind not in _PLAIN:
            raise _refuse(f"`{text}` has no unit", kind, _with_units(found[0], kind))
        if kind == "gravity":
            _check_specific_gravity(text, number, found[0])
            return Quantity(number, kind, text, number, "SG", last, position)
        if kind == "ph":
            _check_ph(text, number)
        row = None
    else:
        row = _unit(text, found[0], unit, kind, gallon)
    factor, offset = (row.factor, row.offset) if row else (1.0, 0.0)
    value = (number + offset) * factor
    written = unit
    if row is not None and row.scale:
        written = row.scale
    if row is not None and row.scale == "SG":
        _check_specific_gravity(text, number, found[0])
    _check_value(text, number, value, kind, row)
    return Quantity(value, kind, text, number, written, last * factor, position)


def _check_value(text: str, number: float, value: float, kind: str, row: Unit | None) -> None:
    if not math.isfinite(value) or abs(value) > _LARGEST:
        raise _refuse(f"`{text}` is beyond any number of a brewhouse", kind)
    if number < 0 and kind not in _SIGNED:
        raise _refuse(f"`{text}` is negative; {NAMES[kind]} cannot be", kind)
    if kind == "temperature" and value < -273.15:
        raise _refuse(f"`{text}` is below absolute zero", kind)
    if kind == "ph":
        _check_ph(text, number)
    if row is not None and row.scale in ("P", "Bx") and not -20 <= number <= 100:
        raise _refuse(f"`{text}` is no extract: it is a share of 100", kind)


def _check_ph(text: str, number: float) -> None:
    if not 0 <= number <= 14:
        remedy = f"write {number / 100:g}" if 100 <= number <= 1400 else ""
        raise UnitError(f"`{text}` is no pH", "a number from 0 to 14, e.g. 5.42", remedy)


def _check_specific_gravity(text: str, number: float, written: str) -> None:
    if 0.5 <= number < 2:
        return
    figures = written.replace(".", "").lstrip("+-0")
    meant = ""
    if re.fullmatch(r"(1[0-4]|9[0-9])[0-9]{1,2}", figures):
        meant = f"{figures[0]}.{figures[1:]}" if figures[0] == "1" else f"0.{figures}"
        meant = meant.ljust(5, "0")
    if not meant:
        raise _refuse(
            f"`{text}` is no specific gravity",
            "gravity",
            f"write {written} P or {written} Bx if it is an extract",
        )
    other = f", or {written} P if it is degrees Plato" if abs(number) <= 40 else ""
    raise _refuse(f"`{text}` read as gravity?", "gravity", f"write {meant}{other}")


def _with_units(number: str, kind: str) -> str:
    units = {
        "temperature": ("C", "F"),
        "volume": ("L", "US gal"),
        "mass": ("kg", "g", "lb"),
        "time": ("min", "h", "d"),
        "fraction": (),
        "alpha": (),
    }.get(kind, (BASE[kind],))
    if not units:
        percent = float(number) * 100 if abs(float(number)) <= 1 else float(number)
        return f"write {percent:g} %" if math.isfinite(percent) else ""
    return "write " + " or ".join(f"{number} {unit}" for unit in units)


def _unit(text: str, number: str, unit: str, kind: str, gallon: str | None) -> Unit:
    """Return the row of a unit, or raise saying why it cannot be used."""
    named = _with_system(unit, gallon)
    if named is None:
        bare = _BARE.match(unit)
        assert bare is not None
        short = _BARE_NAMES[unit[0].lower()] + unit[bare.end() :]
        raise _refuse(
            f"`{text}` does not say which: a US and an imperial {bare[0]} differ",
            kind,
            f"write {number} US {short} or {number} imp {short}, or set `gallon` in brewery.yaml",
        )
    if row := _EXACT.get((kind, named)) or _EXACT.get((kind, unit)):
        return row
    if row := _FOLDED.get((kind, named.casefold())):
        if row.name in _CASED:
            raise _refuse(
                f"`{unit}` is no unit here; the case of the letters counts",
                kind,
                f"did you mean `{number} {row.name}`?",
            )
        return row
    return _other_unit(text, number, named, kind)


def _with_system(unit: str, gallon: str | None) -> str | None:
    """Return a unit with its gallon named in the table's way; None if it does not say which."""
    if (trailing := _TRAILING.match(unit)) and _BARE.match(trailing[1]):
        unit = f"{trailing[2]} {trailing[1]}"
    system = ""
    if prefix := _SYSTEM.match(unit):
        rest = unit[prefix.end() :]
        if _BARE.match(rest):
            system = _CHOICES[prefix[1].replace(".", "").lower()]
            unit = rest
    bare = _BARE.match(unit)
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
            raise _refuse(f"`{unit}` is not read", kind, _REASONS[word])
    if kind == "time" and unit in ("m", "M"):
        raise _refuse("`m` is a metre", kind, f"write {number} min")
    if kind == "volume" and folded in ("oz", "ounce", "ounces"):
        raise _refuse(
            f"`{text}` is a mass; a volume is wanted", kind, "write US fl oz or imp fl oz"
        )
    known = [name for of, name in _EXACT if of == kind]
    near = nearest(unit, known)
    for other in ("concentration", *KINDS):
        if (other, unit) in _EXACT or (other, folded) in _FOLDED:
            raise _wrong_kind(text, other, kind)
    from reportgen.record import unit_library

    found = unit_library.look_up(unit)
    if found is not None:
        if found[0] != kind:
            raise _wrong_kind(text, found[0], kind)
        return Unit(unit, kind, found[1], unit)
    remedy = f"did you mean `{number} {near}`?" if near else ""
    if kind in _PLAIN and kind != "gravity":
        remedy = remedy or f"write {number} alone"
    raise _refuse(f"`{unit}` is no unit of {NAMES[kind]}", kind, remedy)


def _wrong_kind(text: str, found: str, wanted: str) -> UnitError:
    return _refuse(f"`{text}` is {NAMES[found]}; {NAMES[wanted]} is wanted", wanted)


def _compound(
    text: str,
    parts: list[tuple[str, str]],
    kind: str,
    position: Position | None,
    gallon: str | None,
) -> Quantity:
    """Add up ``5 lb 4 oz``: whole numbers of falling units, the last may have decimals."""
    value = 0.0
    above: Unit | None = None
    quantity: Quantity | None = None
    for index, (number, unit) in enumerate(parts):
        found = _NUMBER.match(number)
        assert found is not None
        quantity = _single(f"{number} {unit}", number, found, unit, kind, None, gallon)
        row = _unit(text, number, unit, kind, gallon)
        if above is not None and row.factor >= above.factor:
            raise _refuse(f"`{text}`: the larger unit comes first", kind)
        if above is not None and quantity.value >= above.factor * (1 - 1e-12):
            raise _refuse(f"`{text}`: {number} {unit} is more than one {above.name}", kind)
        if index < len(parts) - 1 and "." in number:
            raise _refuse(f"`{text}`: only the last number can have decimals", kind)
        value += quantity.value
        above = row
    assert quantity is not None and above is not None
    total = float(f"{value / above.factor:.12g}")
    unit = parts[-1][1]
    return Quantity(value, kind, text, total, unit, quantity.step, position)


_METRIC = {**BASE, "fraction": "%", "alpha": "%", "temperature": "C", "gravity": "SG"}
_US = {
    **_METRIC,
    "volume": "US gal",
    "mass": "lb",
    "temperature": "F",
    "temperature_difference": "F",
    "pressure": "psi",
    "concentration": "ppm",
    "colour": "SRM",
    "length": "ft",
    "evaporation": "US gal/h",
    "specific_volume": "US qt/lb",
    "bitterness": "IBU",
    "heat_capacity": "BTU/F",
    "energy": "BTU",
}
_IMPERIAL = {
    **_METRIC,
    "volume": "imp gal",
    "mass": "lb",
    "pressure": "psi",
    "length": "ft",
    "evaporation": "imp gal/h",
    "specific_volume": "imp pt/lb",
}
_SYSTEMS = {"metric": _METRIC, "US": _US, "imperial": _IMPERIAL}
_SMALL = {
    ("volume", "metric"): "mL",
    ("volume", "US"): "US fl oz",
    ("volume", "imperial"): "imp fl oz",
    ("mass", "metric"): "g",
    ("mass", "US"): "oz",
    ("mass", "imperial"): "oz",
}
_LABELS = {"C": "°C", "F": "°F", "SG": "", "P": "°P", "Bx": "°Bx"}
_DECIMALS = {
    "gravity": 3, "ph": 2, "temperature": 1, "temperature_difference": 1, "volume": 1, "mass": 2,
    "time": 0, "fraction": 1, "alpha": 1, "pressure": 2, "carbonation": 1, "concentration": 0,
    "colour": 0, "bitterness": 0, "power": 1, "energy": 0, "length": 0, "heat_capacity": 1,
    "evaporation": 1, "specific_volume": 2, "ratio": 2, "count": 0, "cells": 0, "cell_density": 1,
}  # fmt: skip


def convert(value: float, kind: str, unit: str) -> float:
    """Return a value of the base unit in another unit of the same kind.

    Raises :class:`UnitError` when the unit is none of that kind. Gravities are not converted from
    one scale to another; that is a matter of science, not of units.
    """
    row = _EXACT.get((kind, _clean(unit))) or _unit(unit, "1", _clean(unit), kind, None)
    return value / row.factor - row.offset


def _display(kind: str, system: str, small: bool) -> str:
    if system not in _SYSTEMS:
        raise ValueError(f"no system of units: {system}")
    usual = _SYSTEMS[system][kind]
    return _SMALL.get((kind, system), usual) if small else usual


def display_unit(kind: str, system: str, small: bool = False) -> str:
    """Return the label of the unit a kind is printed in (``metric``, ``US``, ``imperial``).

    ``small`` asks for the unit of hops and salts rather than of malt, of yeast rather than wort.
    The label is empty for a plain number.
    """
    unit = _display(kind, system, small)
    return _LABELS.get(unit, unit)


def to_display(value: float, kind: str, system: str, small: bool = False) -> float:
    """Return a value of the base unit in the unit it is printed in."""
    unit = _display(kind, system, small)
    return convert(value, kind, unit) if unit else value


def format_quantity(
    value: float, kind: str, system: str, decimals: int | None = None, small: bool = False
) -> str:
    """Return the printed number (without its unit) of a value of the base unit.

    The decimals default to those usual for the kind. A negative number has a true minus sign.
    """
    places = _DECIMALS[kind] if decimals is None else decimals
    shown = f"{to_display(value, kind, system, small):.{places}f}"
    if shown.startswith("-"):
        shown = shown[1:] if float(shown) == 0 else "\u2212" + shown[1:]
    return shown


_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_DATE = "a date as 2026-03-14 (year, month, day)"
_CLOCK = "a time as 09:20 (24 hours)"
_MOMENT = "a date and a time as 2026-03-14 09:20"


def parse_date(text: str) -> datetime.date:
    """Read ``2026-03-14``. Raises :class:`UnitError` for anything else, or a day that is not."""
    clean = text.strip()
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", clean):
        return _day(text, int(clean[:4]), int(clean[5:7]), int(clean[8:]))
    raise UnitError(f"`{text[:_LONGEST]}` is no date", _DATE, _date_remedy(clean))


def _day(text: str, year: int, month: int, day: int) -> datetime.date:
    if not 1900 <= year <= 2199:
        raise UnitError(f"`{text}`: the year {year} cannot be meant", _DATE)
    if not 1 <= month <= 12:
        swapped = _written([(year, day, month)])
        raise UnitError(f"`{text}`: there is no month {month}", _DATE, swapped)
    try:
        return datetime.date(year, month, day)
    except ValueError:
        name = _MONTHS[month - 1].capitalize()
        following = datetime.date(year + month // 12, month % 12 + 1, 1)
        last = (following - datetime.timedelta(days=1)).day
        raise UnitError(f"`{text}`: {name} {year} has {last} days", _DATE) from None


def _date_remedy(text: str) -> str:
    """Return the way to write a date that is written otherwise, or an empty text."""
    if len(text) > _LONGEST:
        return ""
    if loose := re.fullmatch(r"([0-9]{4})[-./ ]([0-9]{1,2})[-./ ]([0-9]{1,2})", text):
        return _written([(int(loose[1]), int(loose[2]), int(loose[3]))])
    if re.fullmatch(r"[0-9]{8}", text):
        return _written([(int(text[:4]), int(text[4:6]), int(text[6:]))])
    if parts := re.fullmatch(r"([0-9]{1,2})[-./ ]([0-9]{1,2})[-./ ]([0-9]{2}|[0-9]{4})", text):
        one, two, three = int(parts[1]), int(parts[2]), int(parts[3])
        if len(parts[3]) == 4:
            return _written([(three, two, one), (three, one, two)])
        return "write the year with four figures, then month and day"
    if named := re.fullmatch(r"([0-9]{1,2})\.? ?([A-Za-z]{3,9})\.?,? ?([0-9]{4})", text):
        return _named(named[2], int(named[1]), int(named[3]))
    if named := re.fullmatch(r"([A-Za-z]{3,9})\.? ([0-9]{1,2}),? ([0-9]{4})", text):
        return _named(named[1], int(named[2]), int(named[3]))
    if re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[ T]", text):
        return f"write {text[:10]} alone; no time is wanted here"
    return ""


def _named(name: str, day: int, year: int) -> str:
    fitting = [i for i, month in enumerate(_MONTHS, 1) if month.startswith(name.lower())]
    return _written([(year, fitting[0], day)]) if len(fitting) == 1 else ""


def _written(dates: list[tuple[int, int, int]]) -> str:
    valid = []
    for year, month, day in dates:
        try:
            valid.append(datetime.date(year, month, day).isoformat())
        except ValueError:
            continue
    valid = list(dict.fromkeys(valid))
    return "write " + " or ".join(valid) if valid else ""


def parse_clock(text: str) -> int:
    """Read ``09:20``; returns minutes since midnight. Raises :class:`UnitError`."""
    clean = text.strip()
    if found := re.fullmatch(r"([0-9]{1,2}):([0-9]{2})", clean):
        hours, minutes = int(found[1]), int(found[2])
        if hours < 24 and minutes < 60:
            return hours * 60 + minutes
        remedy = "write 00:00 and the next day" if (hours, minutes) == (24, 0) else ""
        raise UnitError(f"`{clean}` is no time of day", _CLOCK, remedy)
    raise UnitError(f"`{text[:_LONGEST]}` is no time of day", _CLOCK, _clock_remedy(clean))


def _clock_remedy(text: str) -> str:
    found = re.fullmatch(
        r"([0-9]{1,2})(?:[:.,h]?([0-9]{2}))?"  # hours and minutes
        r"(?::[0-9]{2}(?:\.[0-9]+)?)? ?"  # seconds, which are left out
        r"(h|am|pm|a\.m\.|p\.m\.|Uhr)?",
        text,
        re.IGNORECASE,
    )
    if found is None:
        return ""
    hours, minutes = int(found[1]), int(found[2] or 0)
    half = (found[3] or "").replace(".", "").lower()
    if half in ("am", "pm"):
        if not 1 <= hours <= 12:
            return ""
        hours = hours % 12 + (12 if half == "pm" else 0)
    return f"write {hours:02d}:{minutes:02d}" if hours < 24 and minutes < 60 else ""


def parse_moment(text: str) -> datetime.datetime:
    """Read ``2026-03-14 09:20``, as the clock on the wall shows it. Raises :class:`UnitError`."""
    clean = text.strip()
    found = re.fullmatch(r"([0-9]{4}-[0-9]{2}-[0-9]{2}) ([0-9]{1,2}:[0-9]{2})", clean)
    if found is None:
        remedy = ""
        if loose := re.match(r"^([0-9]{4}-[0-9]{2}-[0-9]{2})[T, ]+([0-9]{1,2}:[0-9]{2})", clean):
            remedy = f"write {loose[1]} {loose[2]}"
        elif re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", clean):
            remedy = f"add the time: {clean} 09:20"
        elif re.fullmatch(r"[0-9]{1,2}:[0-9]{2}", clean):
            remedy = f"put the date before it: 2026-03-14 {clean}"
        raise UnitError(f"`{text[:_LONGEST]}` is no date with a time", _MOMENT, remedy)
    minutes = parse_clock(found[2])
    day = parse_date(found[1])
    return datetime.datetime(day.year, day.month, day.day, minutes // 60, minutes % 60)
