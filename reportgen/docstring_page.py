"""A docstring with named sections, read as a page: what calculations and checks say of themselves.

The first line is the title; what follows up to the first section is the text. A section is its
name at the margin, a colon, and what stands behind it or indented below.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Sequence

TEXT = "Text"
"""Name of what stands before the first section."""


def read_sections(
    docstring: str, names: Sequence[str], where: str, needs_text: bool = False
) -> tuple[str, dict[str, str]]:
    """Return the title of a docstring and its sections by name, with ``TEXT`` among them.

    Each loses its common indentation. SyntaxError when a section is missing or empty, or the text
    is and ``needs_text`` is set; ``where`` says in it whose docstring that is.
    """
    begins = re.compile(rf"^({'|'.join(names)}):\s*(.*)$")
    lines = inspect.cleandoc(docstring).splitlines()
    sections: dict[str, list[str]] = {TEXT: []}
    current = TEXT
    for line in lines[1:]:
        match = begins.match(line)
        if match is None:
            sections[current].append(line)
        else:
            current = match[1]
            sections[current] = [match[2]] if match[2] else []
    for name in (TEXT, *names) if needs_text else names:
        if not any(line.strip() for line in sections.get(name, [])):
            raise SyntaxError(f"{where}: the docstring has no {name}")
    title = lines[0].rstrip(".")
    return title, {
        name: inspect.cleandoc("\n".join(["", *text])) for name, text in sections.items()
    }


def one_line(text: str) -> str:
    """Return a text as one line."""
    return " ".join(text.split())
