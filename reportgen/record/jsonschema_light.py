"""The ``jsonschema`` library without two optional packages that it looks for at import.

Wherever they are installed, the one builds a parser of internationalised addresses (seconds of
work) and the other loads a library of dates, both for formats that no record uses.
"""

from __future__ import annotations

from reportgen.light_import import import_without

import_without("jsonschema", "rfc3987_syntax", "isoduration")

from jsonschema import Draft202012Validator, validators  # noqa: E402
from jsonschema.exceptions import ValidationError  # noqa: E402

__all__ = ["Draft202012Validator", "ValidationError", "validators"]
