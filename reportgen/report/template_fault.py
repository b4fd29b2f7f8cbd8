"""What is wrong with a template or stylesheet, told with its file and line."""

from __future__ import annotations

import traceback
from pathlib import Path

from jinja2 import TemplateError

FOLDER = "templates"
SUFFIXES = (".j2", ".css")


class TemplateFault(TemplateError):
    """A template that cannot be used; the message begins with its file and line."""


def fault_of(error: Exception) -> TemplateFault | None:
    """Return what an error comes to when a template had a part in it, else None.

    The line is the innermost one of a template, which is where its writer has to look.
    """
    if isinstance(error, TemplateFault):
        return error
    if isinstance(error, ImportError):
        # A library that is not installed: no template is to blame.
        return None
    file, line = getattr(error, "filename", None), getattr(error, "lineno", None)
    if not file or not line:
        frames = traceback.extract_tb(error.__traceback__)
        places = [(f.filename, f.lineno) for f in frames if f.filename.endswith(SUFFIXES)]
        if places:
            file, line = places[-1]
        elif not isinstance(error, TemplateError):
            return None
    said = str(getattr(error, "message", None) or error) or type(error).__name__
    place = f"{shown(Path(str(file)))}:{line}" if file and line else FOLDER
    return TemplateFault(f"{place}: {said}")


def style_fault(text: str, file: Path) -> TemplateFault | None:
    """Return the first thing in a stylesheet that is no CSS, or None.

    A property that nothing knows is no fault: a browser and the PDF know different ones.
    """
    import tinycss2  # type: ignore[import-untyped]

    rules = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
    errors = [rule for rule in rules if rule.type == "error"]
    for rule in rules:
        if rule.type == "qualified-rule":
            inside = tinycss2.parse_blocks_contents(rule.content)
            errors += [fault for fault in inside if fault.type == "error"]
    if not errors:
        return None
    first = min(errors, key=lambda fault: (fault.source_line, fault.source_column))
    return TemplateFault(f"{shown(file)}:{first.source_line}: {first.message}")


def shown(file: Path) -> str:
    """Return a template's name from its folder on: ``templates/tokens.css``."""
    parts = file.parts
    if FOLDER not in parts:
        return file.name
    start = len(parts) - 1 - parts[::-1].index(FOLDER)
    return "/".join(parts[start:])
