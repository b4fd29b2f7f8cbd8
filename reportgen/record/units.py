"""Quantities as brewers write them, in metric, US and imperial units.

A quantity is a number and a unit in one text: ``65.4 C``, ``4.75 US gal``, ``5 lb 4 oz``. It is
turned into the base unit of its kind once, here; everything behind the record computes in base
units only. What can be misread is refused with the way to write it, never guessed.

This module is the face of the smaller ones beside it: dates and times can be imported from here as
well.
"""

from __future__ import annotations

import math
import re
import unicodedata

from reportgen.record.dates import parse_clock, parse_date, parse_moment
from reportgen.record.digit_slips import without_slip
from reportgen.record.quantity import Quantity, UnitError, refuse
from reportgen.record.unit_names import EXACT, find_unit, reason_in
from reportgen.record.unit_table import BASE, KINDS, NAMES, Unit

__all__ = [
    "KINDS",
    "Quantity",
    "UnitError",
    "parse_clock",
    "parse_date",
    "parse_moment",
    "parse_quantity",
]

_LONGEST = 60
_FIGURES = 15
_LARGEST = 1e9
_EXTRACTS = (-5, 70)
"""Degrees Plato or Brix that have a gravity: the sucrose table ends there (ICUMSA SPS-4)."""

_STRONGEST = 1.2
"""No wort is stronger; a specific gravity above it is never proposed."""

_PLAIN = ("gravity", "ph", "count", "ratio")
_SIGNED = ("temperature", "temperature_difference", "gravity", "length")
_NUMBER = re.compile(r"([+-]?)([0-9]*)(?:(\.)([0-9]*))?(?:[eE]([+-]?[0-9]{1,3})(?![0-9A-Za-z]))?")
_PART = r"([0-9]+(?:\.[0-9]*)?|\.[0-9]+) ?([A-Za-z][A-Za-z. ]*?) ?(?=[0-9.]|$)"
_COMPOUND = ("volume", "mass", "time", "length")


_FRACTION = r"(?<![0-9./])(?:([0-9]+) )?([0-9]+)/([2-9]|1[0-6]|32|64)(?![0-9./])"
"""A whole number and a fraction of those on rulers and scales, or the fraction alone."""

_MARKS = r"(?i)^(~|≈|<|>|≤|≥|±|\+/-|\+-|ca\.?|c\.|circa|about|approx\.?|around)\s*"
_QUOTED = r"[\"'\u2018-\u201f\u00ab\u00bb](.*[^\W_].*)[\"'\u2018-\u201f\u00ab\u00bb]"
_NO_NUMBER = r"(?i)^[+-]?\.?(nan|inf|infinity)\b"


def cleaned(text: str) -> str:
    """Return a text with its spaces, signs and look-alike characters made the same."""
    if text.isascii():
        return " ".join(text.split())
    text = text.replace("\u00ba", "°").replace("\u02da", "°").replace("\u2212", "-")
    # 5½ is five and a half, not 51/2.
    text = re.sub("(?<=[0-9])(?=[\u00bc-\u00be\u2150-\u215e])", " ", text)
    text = unicodedata.normalize("NFKC", text).replace("\u2044", "/")
    return " ".join(text.split())


def parse_quantity(
    text: str, kind: str, gallon: str | None = None
) -> Quantity:
    """Read a quantity of one kind.

    ``gallon`` (``US`` or ``imperial``) says what a bare gallon, quart, pint, fluid ounce or barrel
    is. Raises :class:`UnitError` for anything that is not a quantity of that kind, or could be two.
    """
    if kind not in BASE:
        raise ValueError(f"no kind of quantity: {kind}")
    if len(text) > _LONGEST:
        raise refuse("this is too long to be a number with a unit", kind)
    clean = cleaned(text)
    if not clean:
        raise refuse("there is no number", kind)
    try:
        return _parse(text, clean, kind, gallon)
    except UnitError as error:
        meant = [way for way in without_slip(clean, kind) if _is_one(way, kind, gallon)]
        if not meant:
            raise
        raise UnitError(
            f"`{text}` is not a number", error.expected, f"write {' or '.join(meant)}"
        ) from None


def _is_one(text: str, kind: str, gallon: str | None) -> bool:
    """Whether a text can be read as a quantity of a kind."""
    try:
        _parse(text, text, kind, gallon)
    except UnitError:
        return False
    return True


def _parse(text: str, clean: str, kind: str, gallon: str | None) -> Quantity:
    body = clean if clean[0].isdigit() else _without_name(clean, kind)
    match = _NUMBER.match(body)
    if match is None or not (match[2] or match[4]):
        raise _no_number(text, clean, kind)
    rest = body[match.end() :]
    unit = rest.strip()
    row = EXACT.get((kind, unit))
    if row is None and unit:
        _check_form(clean, match[0], rest, kind)
        parts = _parts(text, body, rest, kind)
        if parts:
            return _compound(text, parts, kind, gallon)
        row = find_unit(text, match[0], unit, kind, gallon)
    return _single(text, match, unit, row, kind)


def _parts(text: str, body: str, rest: str, kind: str) -> list[tuple[str, str]]:
    """Return numbers and units of ``5 lb 4 oz``; nothing when it is no such text."""
    if kind not in _COMPOUND or body[0] == "-" or not re.search("[0-9]", rest):
        return []
    if re.search(r"\bat\b|@", rest):
        # A temperature is told with it.
        return []
    body = body.lstrip("+")
    parts: list[tuple[str, str]] = re.findall(_PART, body)
    joined = "".join(number + unit for number, unit in parts)
    if len(parts) > 1 and joined.replace(" ", "") == body.replace(" ", ""):
        return parts
    if re.fullmatch(r" ?[A-Za-z. ]+ [0-9.]+", rest):
        raise refuse(f"`{text}`: the last number has no unit", kind)
    return []


def _without_name(clean: str, kind: str) -> str:
    """Drop a leading "SG" or "pH", which people write as a name before the number."""
    name = {"gravity": r"S\.?G\.?", "ph": "pH"}.get(kind)
    return re.sub(rf"^{name}\s*[:=]?\s*(?=[0-9.])", "", clean, flags=re.I) if name else clean


def _no_number(text: str, clean: str, kind: str) -> UnitError:
    if re.match(_NO_NUMBER, clean):
        return refuse(f"`{text}` is not a number", kind, "write NOT RECORDED if it was not read")
    if mark := re.match(_MARKS, clean):
        rest = clean[mark.end() :]
        return refuse(
            f"`{text}` begins with `{mark[1]}`",
            kind,
            f"write {rest} as it was read; say how sure it is in the remarks",
        )
    if re.match(r"^[+-]?,[0-9]", clean):
        return refuse(f"`{text}` has a decimal comma", kind, f"write {clean.replace(',', '0.', 1)}")
    if quoted := re.fullmatch(_QUOTED, clean):
        return refuse(f"`{text}` has quotation marks", kind, f"write {quoted[1].strip()}")
    return refuse(f"`{text}` does not begin with a number", kind, reason_in(clean))


def _check_form(clean: str, number: str, rest: str, kind: str) -> None:
    """Refuse what follows a number and is neither a unit nor the next part of a compound."""
    if comma := re.match(r"^,([0-9]+)(.*)$", rest):
        ways = without_comma(number, comma[1] + comma[2])
        # A gravity of a thousand and more is refused: only the decimal can be meant.
        either = ways[0] if kind == "gravity" else " or ".join(ways)
        a_comma = "a comma" if len(ways) > 1 else "a decimal comma"
        raise refuse(f"`{clean}` has {a_comma}", kind, f"write {either}")
    share = re.search(_FRACTION, clean)
    if share and int(share[2]) < int(share[3]):
        value = float(share[1] or 0) + float(share[2]) / float(share[3])
        written = clean.replace(share[0], f"{value:.4g}")
        raise refuse(f"`{clean}` has a common fraction", kind, f"write {written}")
    if re.match(r"^ ?([-\u2013\u2014\u2026]|to|bis|\.\.+|or)\s*[0-9.]", rest):
        raise refuse(
            f"`{clean}` is a range", kind, "write the one value that was read or is wanted"
        )
    if re.match(r"^ ?([A-Za-z]* ?\+|[x\u00d7*]) ?[0-9]", rest):
        raise refuse(f"`{clean}` is a sum to be worked out", kind, "write what it comes to")
    if re.match(r"^ ?[^0-9,;/&]*\s*([,;/&]|and|or|then)\s*[0-9.]+ ?[^0-9 ]*$", rest):
        raise refuse(
            f"`{clean}` is two values", kind, "write the one value that was read or is wanted"
        )
    if re.match(r"^ ?(±|\+/-|\+-)", rest):
        raise refuse(
            f"`{clean}` has an uncertainty",
            kind,
            f"write {number} with its unit; the uncertainty belongs to the instrument",
        )
    if clock := re.match(r"^:([0-5][0-9])$", rest):
        write = f"{number} h {clock[1]} min" if kind == "time" else ""
        raise refuse(f"`{clean}` is a time of day", kind, f"write {write}" if write else "")
    if thousands := re.match(r"^((?: [0-9]{3})+)(?![0-9])(.*)$", rest):
        joined = number + thousands[1].replace(" ", "") + thousands[2]
        raise refuse(f"`{clean}` has spaces within the number", kind, f"write {joined}")
    if re.match(r"^[.:'`_][0-9]", rest):
        raise refuse(f"`{clean}` is not a number", kind)


def without_comma(before: str, behind: str) -> tuple[str, ...]:
    """Return what a number with a comma can mean: the decimal, and perhaps the thousands.

    ``behind`` has the unit with it. Three figures behind a whole number can be thousands.
    """
    pointed = f"{before}.{behind}"
    if re.match(r"[0-9]{3}(?![0-9])", behind) and "." not in before and before.strip("+-0"):
        return pointed, f"{before}{behind}"
    return (pointed,)


def _single(
    text: str, match: re.Match[str], unit: str, row: Unit | None, kind: str
) -> Quantity:
    _, whole, _, decimals, exponent = match.groups()
    decimals = decimals or ""
    if len((whole + decimals).lstrip("0")) > _FIGURES or len(whole + decimals) > 2 * _FIGURES:
        raise refuse(f"`{text}` has more digits than any instrument gives", kind)
    power = int(exponent or 0)
    if abs(power) > 2 * _FIGURES:
        raise refuse(f"`{text}` is beyond any number of a brewhouse", kind)
    number, last = float(match[0]), 10.0 ** (power - len(decimals))
    if row is None and kind not in _PLAIN:
        raise refuse(f"`{text}` has no unit", kind, _with_units(match[0], kind))
    factor, offset, scale = (row.factor, row.offset, row.scale) if row else (
        1.0, 0.0, "SG" if kind == "gravity" else ""
    )  # fmt: skip
    value = (number + offset) * factor
    if scale == "SG":
        _check_specific_gravity(text, number, match[0])
    else:
        _check_value(text, number, value, kind, row)
    return Quantity(value, kind, text, number, scale or unit, last * factor)


def _check_value(text: str, number: float, value: float, kind: str, row: Unit | None) -> None:
    if not math.isfinite(value) or abs(value) > _LARGEST:
        raise refuse(f"`{text}` is beyond any number of a brewhouse", kind)
    if number < 0 and kind not in _SIGNED:
        raise refuse(f"`{text}` is negative; {NAMES[kind]} cannot be", kind)
    if kind == "temperature" and value < -273.15:
        raise refuse(f"`{text}` is below absolute zero", kind)
    if kind == "ph":
        _check_ph(text, number)
    if row is not None and row.scale in ("P", "Bx"):
        low, high = _EXTRACTS
        if not low <= number <= high:
            raise refuse(
                f"`{text}` is not an extract: it lies between {low} and {high} in 100", kind
            )


def _check_ph(text: str, number: float) -> None:
    if not 0 <= number <= 14:
        by = next((by for by in (10, 100) if 2 <= number / by <= 14), None)
        remedy = f"write {number / by:g}" if by else ""
        raise UnitError(f"`{text}` is not a pH", "a number from 0 to 14, e.g. 5.42", remedy)


def _check_specific_gravity(text: str, number: float, written: str) -> None:
    if 0.5 <= number < 2:
        return
    figures = written.replace(".", "").lstrip("+-0")
    meant = ""
    if fraction := re.fullmatch(r"0?\.(?:0|1(?!0))([0-9]{2,3})", written):
        # The one and the nought before the point exchanged, or the one left out.
        meant = f"1.0{fraction[1]}"
    elif re.fullmatch(r"(1[0-4]|9[0-9])[0-9]{1,3}", figures):
        meant = f"{figures[0]}.{figures[1:]}" if figures[0] == "1" else f"0.{figures}"
        meant = meant.ljust(5, "0")
    ways = [meant] if meant and float(meant) <= _STRONGEST else []
    if abs(number) <= 40:
        ways.append(f"{written} P or {written} Bx if it is an extract")
    if re.fullmatch(r"[0-9]{2,3}", written) and 1 + number / 1000 <= _STRONGEST:
        ways.append(f"{1 + number / 1000:.3f} if it is points of gravity")
    remedy = f"write {', or '.join(ways)}" if ways else ""
    raise refuse(f"`{text}` is not a specific gravity", "gravity", remedy)


def _with_units(number: str, kind: str) -> str:
    units = {
        "temperature": ("C", "F"),
        "volume": ("L", "US gal"),
        "mass": ("kg", "g", "lb"),
        "time": ("min", "h", "d"),
        "pressure": ("bar", "psi", "kPa"),
        "fraction": (),
        "alpha": (),
    }.get(kind, (BASE[kind],))
    if not units:
        percent = float(number) * 100 if abs(float(number)) <= 1 else float(number)
        return f"write {percent:g} %" if abs(percent) <= 100 else ""
    return "write " + " or ".join(f"{number} {unit}" for unit in units)


def _compound(
    text: str,
    parts: list[tuple[str, str]],
    kind: str,
    gallon: str | None,
) -> Quantity:
    """Add up ``5 lb 4 oz``: whole numbers of falling units, the last may have decimals."""
    value = 0.0
    above: Unit | None = None
    quantity: Quantity | None = None
    for index, (number, unit) in enumerate(parts):
        match = _NUMBER.match(number)
        assert match is not None
        row = find_unit(text, number, unit, kind, gallon)
        quantity = _single(f"{number} {unit}", match, unit, row, kind)
        if above is not None and row.factor >= above.factor:
            raise refuse(f"`{text}`: the larger unit comes first", kind)
        if above is not None and quantity.value >= above.factor * (1 - 1e-12):
            raise refuse(f"`{text}`: {number} {unit} is more than one {above.name}", kind)
        if index < len(parts) - 1 and "." in number:
            raise refuse(f"`{text}`: only the last number can have decimals", kind)
        value += quantity.value
        above = row
    assert quantity is not None and above is not None
    total = float(f"{value / above.factor:.12g}")
    unit = parts[-1][1]
    return Quantity(value, kind, text, total, unit, quantity.step)
