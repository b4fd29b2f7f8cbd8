"""Text that the chapters of the manual share: links, prose, values as they are written."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape
from msgspec import Struct

from reportgen.record.printed import MINUS

_SIGNS = {"P": "°P", "1": "", "-": ""}
"""Units whose sign differs from the word that a docstring has for them; a plain number has none."""

_RAISED = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")


class ManualLink(Struct, frozen=True):
    """A place in the manual: the page it is on, its name there, and the words that lead to it."""

    text: str
    page: str
    anchor: str = ""
    note: str = ""


def prose(text: str) -> Markup:
    """Return words with what stands between backticks, once or twice, as code."""
    plain = signs(re.sub(r":\w+:`~?([^`]+)`", r"``\1``", text))
    parts = re.split(r"``([^`]+)``|`([^`]+)`", plain)
    made = Markup("")
    for index in range(0, len(parts), 3):
        made += escape(parts[index])
        code = next((c for c in parts[index + 1 : index + 3] if c), None)
        if code is not None:
            made += Markup("<code>{}</code>").format(code)
    return made


def paragraphs(text: str) -> tuple[Markup, ...]:
    """Return the paragraphs of a docstring, each on one line."""
    blocks = (" ".join(block.split()) for block in re.split(r"\n\s*\n", text))
    return tuple(prose(block) for block in blocks if block)


def sentence(text: str) -> str:
    """Return words that begin with a capital and end with a full stop."""
    text = text.strip()
    if not text:
        return ""
    # A second letter in capitals is a sign, not a word: pH, mEq/L, kJ.
    first = text[0] if text[1:2].isupper() else text[0].upper()
    return signs(first + text[1:] + ("" if text[-1] in ".!?" else "."))


def signs(text: str) -> str:
    """Return a text with the degree sign where a docstring has ``deg``."""
    return re.sub(r"\bdeg([CFPL])\b", r"°\1", text)


def unit_sign(unit: str) -> str:
    """Return a unit as it is printed: ``degC`` as °C, nothing for a plain number."""
    return _SIGNS[unit] if unit in _SIGNS else signs(unit)


def number(value: float, digits: int = 10) -> str:
    """Return a number as short as it can be written, with a true minus sign."""
    text = f"{value:.{digits}g}"
    mantissa, _, power = text.partition("e")
    if power:
        raised = str(int(power)).translate(_RAISED)
        text = f"10{raised}" if mantissa == "1" else f"{mantissa} × 10{raised}"
    return text.replace("-", MINUS)


def value_text(value: Any, depth: int = 0) -> str:
    """Return what is put into a calculation as words: numbers, lists, mappings of names."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return number(value)
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_words(key)} {value_text(v, depth + 1)}" for key, v in value.items())
        return inner if depth == 0 and inner else f"({inner})"
    if isinstance(value, Sequence) and not isinstance(value, str):
        inner = ", ".join(value_text(v, depth + 1) for v in value)
        return inner if depth == 0 and inner else f"({inner})"
    return _words(value)


def _words(value: object) -> str:
    return str(value).replace("_", " ")


def flow(value: Any) -> str:
    """Return an example as it is typed into a file, mappings and lists on one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {flow(v)}" for key, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(flow(v) for v in value) + "]"
    text = str(value)
    return f'"{text}"' if re.search(r"[,\[\]{}#]|: |^[-?&*!|>'\"%@`]", text) else text
