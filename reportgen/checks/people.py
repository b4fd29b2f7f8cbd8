"""Who is meant by initials: shared by the checks about people."""

from __future__ import annotations

import re
from collections.abc import Collection

_BETWEEN = re.compile(r"\s*[,;/&+]\s*|\s+and\s+|\s+")


def people_in(initials: str, known: Collection[str] = ()) -> list[str]:
    """Return each of the initials in a text such as ``RB``, ``RB, TM`` or ``RB and TM``."""
    text = initials.strip()
    return [text] if text in known else [part for part in _BETWEEN.split(text) if part]
