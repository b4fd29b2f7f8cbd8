"""Amounts and parts of a plan as text for a file: in the brewer's own units, as YAML to paste."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from typing import Any

from reportgen.record.printed import convert
from reportgen.record.quantity import Quantity
from reportgen.record.unit_table import POUND

PLAIN = re.compile(r"^[A-Za-z0-9][\w .%/()+°-]*$")


def decimals_for(step: float) -> int:
    """Return the decimals that a step needs: those it is written with, else those of its size.

    0.02 needs 2, 0.5 one, 20 none; 0.0441 (20 g in lb) two.
    """
    for places in range(5):
        if abs(step - round(step, places)) < 1e-9 * max(step, 1e-9) and round(step, places) > 0:
            return places
    return max(0, math.ceil(-math.log10(step)))


def amount_text(value: float, step: float, like: Quantity | None, unit: str, kind: str) -> str:
    """Return an amount in base units as it is written in a file: in the unit of ``like``.

    Without ``like`` it is in ``unit``. Pounds that are weighed in steps of ounces, not of
    hundredths of a pound, are written as ``7 lb 4.5 oz``.
    """
    if kind == "temperature":
        unit = like.unit if like is not None else unit
        return f"{convert(value, kind, unit):.1f} {unit}"
    if like is not None and like.number > 0 and like.value > 0:
        unit, factor = like.unit, like.value / like.number
        if "lb" in like.text and unit == "oz":
            unit, factor = "lb", POUND
    else:
        factor = 1 / convert(1.0, kind, unit)
    ounce = POUND / 16
    # A scale that shows 0.02 lb has no ounces; nor is 9.25 lb any of its.
    in_pounds = abs(step / POUND - round(step / POUND, 2)) < 1e-6
    of_ounces = not in_pounds and abs(step / ounce - round(step / ounce, 2)) < 1e-6
    if unit.startswith("lb") and of_ounces:
        pounds = math.floor(value / POUND + 1e-9)
        ounces = round(value / ounce - 16 * pounds, 2)
        rest = f"{ounces:g} oz"
        if not pounds:
            return rest
        return f"{pounds} lb {rest}" if ounces else f"{pounds} lb"
    number = f"{value / factor:.{decimals_for(step / factor)}f}"
    return f"{number} {unit}".strip()


def scalar(value: Any) -> str:
    """Return a text as a YAML value, quoted where it has to be."""
    text = str(value)
    if PLAIN.match(text) and not text.endswith(" ") and text.lower() not in ("null", "true"):
        return text
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def flow(value: Any) -> str:
    """Return plain data on one line of YAML."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {flow(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(flow, value)) + "]"
    return scalar(value)


def block(tree: Mapping[str, Any], depth: int = 0, why: Mapping[str, str] | None = None) -> (
    Iterator[str]
):
    """Yield the lines of plain data as YAML: mappings as blocks, the entries of lists in a line.

    ``why`` has a comment for a line, by the text of the line's key and value.
    """
    pad = "  " * depth
    for key, value in tree.items():
        if isinstance(value, Mapping):
            yield f"{pad}{key}:"
            yield from block(value, depth + 1, why)
        elif isinstance(value, list):
            yield f"{pad}{key}:" + ("" if value else " []")
            for entry in value:
                text = flow(entry)
                yield _with_why(f"{pad}  - {text}", (why or {}).get(text, ""))
        else:
            yield _with_why(f"{pad}{key}: {scalar(value)}", (why or {}).get(key, ""))


def _with_why(line: str, why: str) -> str:
    return f"{line}  # {why}" if why else line


def differing(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Any]:
    """Return what of a plan differs from another, to be laid over it; lists stand as a whole.

    What is gone is null there.
    """
    changed: dict[str, Any] = {}
    for key, value in after.items():
        if key in before and before[key] == value:
            continue
        if isinstance(value, Mapping) and isinstance(before.get(key), Mapping):
            changed[key] = differing(before[key], value)
        else:
            changed[key] = value
    for key in before:
        if key not in after:
            changed[key] = "null"
    return changed

