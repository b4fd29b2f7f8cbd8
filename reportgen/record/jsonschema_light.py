"""The ``jsonschema`` library without two optional packages that it looks for at import.

Wherever they are installed, the one builds a parser of internationalised addresses (seconds of
work) and the other loads a library of dates, both for formats that no record uses. They are hidden
while the library is imported, and only then.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType

_HEAVY = ("rfc3987_syntax", "isoduration")


def _import_light() -> ModuleType:
    if "jsonschema" in sys.modules:
        return importlib.import_module("jsonschema")
    hidden = [name for name in _HEAVY if name not in sys.modules]
    for name in hidden:
        sys.modules[name] = None  # type: ignore[assignment]
    try:
        return importlib.import_module("jsonschema")
    finally:
        for name in hidden:
            del sys.modules[name]


_import_light()

from jsonschema import Draft202012Validator, validators  # noqa: E402
from jsonschema.exceptions import ValidationError  # noqa: E402

__all__ = ["Draft202012Validator", "ValidationError", "validators"]
