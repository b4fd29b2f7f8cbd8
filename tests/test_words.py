"""What a reader sees: the same words for the same thing, and none that stop a reader.

The lists are data, in ``words.yaml``.
"""

from __future__ import annotations

import ast
import functools
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from reportgen.checks.base import all_checks
from reportgen.command_words import VERBS, by_use
from reportgen.commandline import parser
from reportgen.forecast.figures import FIGURES

ROOT = Path(__file__).parents[1]
WORDS: dict[str, Any] = yaml.safe_load((ROOT / "tests/words.yaml").read_text(encoding="utf-8"))


def strings_of(path: Path) -> Iterator[str]:
    """Return the texts of a module that are no docstrings: what it may print."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    loose = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in loose:
            yield node.value


def descriptions(part: Any) -> Iterator[str]:
    """Return every title and description of a schema."""
    if isinstance(part, dict):
        for key, value in part.items():
            if key in ("title", "description") and isinstance(value, str):
                yield value
            else:
                yield from descriptions(value)
    elif isinstance(part, list):
        for value in part:
            yield from descriptions(value)


def visible(template: str) -> str:
    """Return the text of a template without what is computed, and without marks and styles."""
    plain = re.sub(r"(?s)\{#.*?#\}|\{%.*?%\}|\{\{.*?\}\}|<style>.*?</style>", " ", template)
    return re.sub(r"(?s)<[^>]*>", " ", plain)


@functools.cache
def read_by_people() -> dict[str, str]:
    """Return every text that reaches a reader, by where it is."""
    texts: dict[str, str] = {}
    for name, check in all_checks().items():
        page = check.page
        parts = (page.title, page.text, page.fix, page.afterwards, page.source, page.weight)
        texts[f"page of {name}"] = "\n".join(parts)
    for folder in ("checks", "report", "verbs", "record", "store"):
        for path in sorted((ROOT / "reportgen" / folder).rglob("*.py")):
            texts[path.relative_to(ROOT).as_posix()] = "\n".join(strings_of(path))
    for name, words in VERBS.items():
        examples = "\n".join(does for _, does in words.examples)
        texts[f"help of {name}"] = f"{words.line}\n{words.text}\n{examples}"
    texts["reportgen --help"] = parser().format_help()
    texts["options"] = "\n".join(strings_of(ROOT / "reportgen/commandline.py"))
    for path in sorted((ROOT / "schema").glob("*.json")):
        schema = json.loads(path.read_text(encoding="utf-8"))
        texts[path.relative_to(ROOT).as_posix()] = "\n".join(descriptions(schema))
    for path in sorted((ROOT / "templates").rglob("*")):
        if path.suffix in (".j2", ".md", ".yaml"):
            text = path.read_text(encoding="utf-8")
            shown = visible(text) if path.suffix == ".j2" else text
            texts[path.relative_to(ROOT).as_posix()] = shown
    texts["README.md"] = (ROOT / "README.md").read_text(encoding="utf-8")
    return texts


def found(phrase: str) -> list[str]:
    """Return where a word or phrase is read, with some of what is around it."""
    words = r"\s+".join(map(re.escape, phrase.split()))
    wanted = re.compile(rf"(?i)(?<![\w.-]){words}(?![\w-])")
    hits = []
    for where, text in read_by_people().items():
        for hit in wanted.finditer(text):
            around = text[max(0, hit.start() - 30) : hit.end() + 30].replace("\n", " ")
            hits.append(f"{where}: {around}")
    return hits


@pytest.mark.parametrize("phrase", WORDS["avoid"])
def test_no_word_stops_a_reader(phrase: str) -> None:
    assert found(phrase) == [], f"write: {WORDS['avoid'][phrase]}"


@pytest.mark.parametrize("ours", WORDS["pairs"])
def test_one_thing_has_one_name(ours: str) -> None:
    assert [hit for other in WORDS["pairs"][ours] for hit in found(other)] == []


def test_the_words_are_looked_for_where_people_read() -> None:
    assert len(read_by_people()) > 200
    assert found("ON PLAN") and found("boil")


@pytest.mark.parametrize("key", FIGURES)
def test_the_title_of_a_figure_begins_with_the_words_of_its_key(key: str) -> None:
    """Who reads a label on a sheet can type its key, and the other way round."""
    title = re.sub("[^a-z0-9]+", " ", FIGURES[key].title.lower()).strip()
    assert f"{title} ".startswith(f"{key.replace('_', ' ')} ")


def test_help_lists_each_verb_once_by_when_it_is_used() -> None:
    names = [name for group in by_use().values() for name in group]
    assert sorted(names) == sorted(VERBS)
    shown = parser().format_help()
    assert all(f"{head}:\n" in shown for head in by_use())
    assert re.findall(r"(?m)^  ([a-z]+) ", shown.partition("verbs:")[2]) == names
