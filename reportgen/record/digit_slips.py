"""Slips of the finger in a number or its unit: what it was probably meant to be.

A letter for a digit, a point too many or in the wrong place, a nought left out, two digits
exchanged, one digit for another.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

_LIKE = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1", "|": "1", "S": "5", "B": "8"})
_LOOKS = r"^([+-]?)([0-9OolI|SB.,]*[0-9][0-9OolI|SB.,]*)(?![A-Za-z0-9])"
_PLAIN = ("gravity", "ph")
"""Kinds of a known size, whose point has one place only."""


def without_slip(text: str, kind: str) -> Iterator[str]:
    """Yield what a text that cannot be read as a number may have been meant to be.

    ``kind`` is that of the quantity wanted; none of what is yielded need be one.
    """
    looks = re.match(_LOOKS, text)
    if looks is None:
        return
    number, rest = looks[2].translate(_LIKE), text[looks.end() :]
    if number != looks[2] and "." not in number:
        number = number.replace(",", ".")
    number = re.sub(r"[.,]*\.[.,]*", ".", number)
    points = [n for n, sign in enumerate(number) if sign == "."]
    if len(points) > 1:
        # One of the points is right; of a gravity and a pH it is the first.
        for right in points[:1] if kind in _PLAIN else points:
            left = [sign for n, sign in enumerate(number) if sign != "." or n == right]
            yield looks[1] + "".join(left) + rest
    elif number != looks[2]:
        yield looks[1] + number + rest
    if kind in _PLAIN and (split := re.fullmatch(r"([0-9]) ?[-;:'_/ ] ?([0-9]{2,4})", text)):
        yield f"{split[1]}.{split[2]}"
    if kind in _PLAIN and (split := re.fullmatch(r"([0-9]\.[0-9]+) ([0-9]{1,3})", text)):
        yield split[1] + split[2]


OTHER_UNITS: dict[str, tuple[str, ...]] = {
    "gravity": ("P", "Bx"), "temperature": ("C", "F"), "volume": ("mL", "L"), "mass": ("g", "kg"),
    "time": ("min", "h", "d"), "length": ("m", "ft"),
}
"""Units that are written for one another."""

OF_A_SYSTEM: dict[str, dict[str, tuple[str, ...]]] = {
    "US": {"volume": ("US gal", "US qt"), "mass": ("oz", "lb")},
    "imperial": {"volume": ("imperial gal",), "mass": ("oz", "lb")},
}
"""More of them in a house of a system: litres are on any jug, gallons are not."""


def in_other_units(number: str, kind: str, unit: str, system: str) -> list[str]:
    """Return a number with each unit that may be written for its own; none for a bare gravity."""
    if unit == "SG":
        return []
    others = (*OTHER_UNITS.get(kind, ()), *OF_A_SYSTEM.get(system, {}).get(kind, ()))
    return [f"{number} {other}" for other in others]


def parted(text: str) -> tuple[str, str]:
    """Return the number that a text begins with and the rest of it; two empty texts for no such."""
    typed = re.fullmatch(r"([0-9.]+)(.*)", text)
    return (typed[1], typed[2]) if typed is not None else ("", "")


def near(number: str) -> tuple[str, ...]:
    """Return the numbers that become this one by a single slip: ``1.145`` by one of ``1.0145``.

    A nought left out or put in, two neighbours exchanged, a digit typed twice, a point one or two
    places off. ``number`` is a plain decimal; what is no such number has none.
    """
    if not re.fullmatch(r"[0-9]+(\.[0-9]*)?|\.[0-9]+", number):
        return ()
    whole, _, decimals = number.partition(".")
    digits = whole + decimals
    ways: list[str] = []
    for n in range(len(digits) - 1):
        if digits[n] != digits[n + 1]:
            swapped = digits[:n] + digits[n + 1] + digits[n] + digits[n + 2 :]
            ways.append(_pointed(swapped, len(whole)))
    for n in range(len(digits) + 1):
        ways.append(_pointed(digits[:n] + "0" + digits[n:], len(whole) + (n < len(whole))))
    for n, digit in enumerate(digits):
        if digit == "0" or digits[n : n + 2] == 2 * digit:
            ways.append(_pointed(digits[:n] + digits[n + 1 :], len(whole) - (n < len(whole))))
    for shift in (-1, 1, -2, 2):
        ways.append(_pointed(digits, len(whole) + shift))
    return tuple(text for text in dict.fromkeys(ways) if float(text) != float(number))


def slips_of(text: str) -> list[str]:
    """Return the texts of a quantity that become this one by a single slip of its number."""
    number, rest = parted(text)
    return [other + rest for other in near(number)]


def misread(number: str) -> tuple[str, ...]:
    """Return the numbers that differ in one digit: ``1.0335`` from ``1.0535``. Any may be meant."""
    return tuple(
        number[:n] + other + number[n + 1 :]
        for n, digit in enumerate(number) if digit != "."
        for other in "0123456789" if other != digit
    )  # fmt: skip


def _pointed(digits: str, whole: int) -> str:
    """Return digits with a point behind the first ``whole`` of them."""
    digits = "0" * max(0, 1 - whole) + digits
    whole = max(1, whole)
    digits = digits.ljust(whole, "0")
    before, after = digits[:whole].lstrip("0") or "0", digits[whole:]
    return f"{before}.{after}" if after else before
