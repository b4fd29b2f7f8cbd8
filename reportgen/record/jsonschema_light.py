"""The ``jsonschema`` library without its optional grammar for internationalised addresses.

Wherever that optional package is installed, the library builds its parser at import: seconds of
work for a format that no record uses. It is hidden while the library is imported, and only then.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType

_HEAVY = "rfc3987_syntax"


def _import_light() -> ModuleType:
    if _HEAVY in sys.modules or "jsonschema" in sys.modules:
        return importlib.import_module("jsonschema")
    sys.modules[_HEAVY] = None  # type: ignore[assignment]
    try:
        return importlib.import_module("jsonschema")
    finally:
        del sys.modules[_HEAVY]


_import_light()

from jsonschema import Draft202012Validator, validators  # noqa: E402
from jsonschema.exceptions import ValidationError  # noqa: E402

__all__ = ["Draft202012Validator", "ValidationError", "validators"]
