"""What a scalar means by the core schema of YAML 1.2, where nothing better is known of it."""

from __future__ import annotations

import math
import re

from reportgen.record.yamlnode import Scalar

_INT = re.compile(r"[-+]?[0-9]+")
_OCTAL = re.compile(r"0o[0-7]+")
_HEX = re.compile(r"0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_WORDS: dict[str, bool | None] = {
    "": None,
    "~": None,
    "null": None,
    "Null": None,
    "NULL": None,
    "true": True,
    "True": True,
    "TRUE": True,
    "false": False,
    "False": False,
    "FALSE": False,
}
_FIGURES = 64


def core(scalar: Scalar) -> str | int | float | bool | None:
    """Return what a scalar means by the core schema of YAML 1.2 (chapter 10.3.2).

    Quoted and block scalars are text. What is no finite number (``.inf``, ``.nan``, ``1e400``),
    or has more than 64 figures or too few to tell it from nought (``1e-400``), stays text.
    """
    text = scalar.text
    if scalar.style:
        return text
    if text in _WORDS:
        return _WORDS[text]
    if len(text) > _FIGURES:
        return text
    if _INT.fullmatch(text):
        return int(text)
    if _OCTAL.fullmatch(text):
        return int(text[2:], 8)
    if _HEX.fullmatch(text):
        return int(text[2:], 16)
    if _FLOAT.fullmatch(text):
        number = float(text)
        lost = number == 0 and re.search("[1-9]", re.split("[eE]", text)[0])
        return text if lost or not math.isfinite(number) else number
    return text
