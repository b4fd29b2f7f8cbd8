"""Every word that a reader types, chooses or sees as a name, in one list.

``python -m tests.support.list_words`` prints it: option values, keys with their titles, figures,
checks, methods, commands and options, documents and page names, table heads and headings. So that
it can be read at once whether each is the trade's word, a standard's or a plain one of our own.
"""

from __future__ import annotations

import argparse
import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from reportgen import commandline
from reportgen.checks.base import all_checks
from reportgen.forecast.figures import FIGURES, Stage, ToleranceSide
from reportgen.record.describe import FILES, file_schema
from reportgen.record.finding import Severity
from reportgen.record.model.flavours import CLASSES
from reportgen.report.documents import ALL, CHANGES
from reportgen.report.manual import pages as manual_pages
from reportgen.science.method import METHODS

ROOT = Path(__file__).parents[2]
HEADS = {"Column": 0, "Table": 1}
"""Calls that make a table's head or caption, and which argument has the words."""


def keys(name: str) -> Iterator[tuple[str, str]]:
    """Yield each key of a file with its title, in the entry that has it."""
    schema = file_schema(FILES[name])
    for entry, body in [(name, schema), *schema.get("$defs", {}).items()]:
        for key, said in body.get("properties", {}).items():
            yield f"{entry}.{key}", str(said.get("title", ""))


def choices(name: str) -> Iterator[tuple[str, str]]:
    """Yield each key that takes one of several words, with the words."""
    schema = file_schema(FILES[name])
    for entry, body in [(name, schema), *schema.get("$defs", {}).items()]:
        for key, said in body.get("properties", {}).items():
            words = _enum(said)
            if words:
                yield f"{entry}.{key}", ", ".join(words)


def _enum(said: Any) -> list[str]:
    if isinstance(said, Mapping):
        found = [str(word) for word in said.get("enum", ())]
        return found or [word for part in said.values() for word in _enum(part)]
    if isinstance(said, list):
        return [word for part in said for word in _enum(part)]
    return []


def commands() -> Iterator[tuple[str, str]]:
    """Yield each command with its options."""
    for action in commandline.parser()._actions:
        if isinstance(action, argparse._SubParsersAction):
            for verb, parser in action.choices.items():
                options = [max(a.option_strings, key=len) for a in parser._actions
                           if a.option_strings]  # fmt: skip
                yield verb, " ".join(options)


def heads_in_code() -> Iterator[tuple[str, str]]:
    """Yield the table heads and captions of each module that makes tables."""
    for path in sorted((ROOT / "reportgen").rglob("*.py")):
        words: list[str] = []
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.id if isinstance(node.func, ast.Name) else ""
            place = HEADS.get(name)
            if place is not None and len(node.args) > place:
                words += [_text(node.args[place])]
        words = [word for word in dict.fromkeys(words) if word]
        if words:
            yield str(path.relative_to(ROOT)), " | ".join(words)


def _text(node: ast.expr) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            str(part.value) if isinstance(part, ast.Constant) else "…" for part in node.values
        )
    return ""


def heads_in_templates() -> Iterator[tuple[str, str]]:
    """Yield headings, column heads and legends of each template."""
    for path in sorted((ROOT / "templates").rglob("*.j2")):
        text = path.read_text(encoding="utf-8")
        found = re.findall(r"<(?:h[1-4]|th|legend|caption|dt)\b[^>]*>(.*?)</", text, re.DOTALL)
        words = [re.sub(r"\s+", " ", re.sub(r"{[{%#].*?[}%#]}|<[^>]*>", "…", f)).strip()
                 for f in found]  # fmt: skip
        words = [word for word in dict.fromkeys(words) if word.strip("… ")]
        if words:
            yield str(path.relative_to(ROOT)), " | ".join(words)


def pages() -> Iterator[tuple[str, str]]:
    """Yield the names of documents, of the manual's pages and of the ledger's kinds of page."""
    for document in (*ALL, CHANGES):
        yield document.file("BATCH"), document.title
    for page in manual_pages():
        yield f"manual/{page.name}.html", page.title
    for path in sorted((ROOT / "templates" / "ledger").glob("*.html.j2")):
        yield f"ledger/{path.name.removesuffix('.html.j2')}", ""


def sections() -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Yield each part of the list: its title, and pairs of a name and what is said of it."""
    for name in FILES:
        yield f"option values of {name}", list(choices(name))
    for name in FILES:
        yield f"keys and titles of {name}", list(keys(name))
    yield "tasting words", [(title, ", ".join(terms)) for title, terms in CLASSES]
    yield "stages, sides, severities", [
        ("stages", ", ".join(s.value for s in Stage)),
        ("sides", ", ".join(s.value for s in ToleranceSide)),
        ("severities", ", ".join(s.value for s in Severity)),
    ]
    yield "figures", [(figure.key, figure.title) for figure in FIGURES.values()]
    yield "checks", [(name, check.page.title) for name, check in all_checks().items()]
    yield "methods", [(name, "") for name in METHODS]
    yield "commands and options", list(commands())
    yield "documents and pages", list(pages())
    yield "table heads in code", list(heads_in_code())
    yield "headings and heads in templates", list(heads_in_templates())


def main() -> None:
    """Print the list."""
    for title, rows in sections():
        print(f"\n{title}\n{'-' * len(title)}")
        for name, said in rows:
            print(f"{name}: {said}" if said else name)


if __name__ == "__main__":
    main()
