"""Every calculation has a page that can be read and a check from outside this project.

``python -m tests.support.count_checks`` prints the table that is asserted here; after a change in
what the library tests check, ``python -m tests.support.count_checks --write`` renews the list that
the manual goes by.
"""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from pathlib import Path
from types import FunctionType

import pytest
import yaml
from count_checks import (
    CASES,
    collected,
    libraries_json,
    library_counts,
    library_files,
    table,
)

import reportgen.science
from reportgen.report.evidence import LIBRARIES, MARKS, read_cases, topics
from reportgen.science.method import METHODS, page, read_page

TOOLS = {"least_squares", "method", "number", "uncertain"}
"""Modules of the package that hold no calculations of the trade."""

topics()
MODULES = [
    importlib.import_module(f"reportgen.science.{info.name}")
    for info in pkgutil.iter_modules(reportgen.science.__path__)
    if info.name not in TOOLS
]
FILES = library_files()


def public_functions(module: object) -> Iterator[tuple[str, FunctionType]]:
    """Yield the functions that a module offers as its own: not imported, not marked private."""
    tree = ast.parse(inspect.getsource(module))  # type: ignore[arg-type]
    brought = {
        alias.asname or alias.name
        for node in tree.body
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
    }
    for name, value in vars(module).items():
        if isinstance(value, FunctionType) and not name.startswith("_") and name not in brought:
            yield name, value


@pytest.mark.parametrize("module", MODULES, ids=lambda m: m.__name__.rsplit(".", 1)[-1])
def test_every_public_function_is_a_method_with_a_page(module: object) -> None:
    registered = {function: name for name, function in METHODS.items()}
    without = [name for name, value in public_functions(module) if value not in registered]
    assert without == [], "no @method: give it one, with a page and a check, or a private name"
    for _, value in public_functions(module):
        made = read_page(inspect.unwrap(value), registered[value])
        assert made.title[0].isupper() and len(made.title) <= 100, made.name
        assert made.source.strip(". ") and made.uncertainty.strip(". "), made.name


def test_a_function_without_a_page_would_be_found() -> None:
    def bare(x: float) -> float:
        """Adds nothing."""
        return x

    with pytest.raises(SyntaxError, match="no Formula"):
        read_page(bare, "topic.bare")
    module = importlib.import_module("reportgen.science.density")
    names = {name for name, _ in public_functions(module)}
    assert "water_density" in names and "exp" not in names and "method" not in names


def test_every_method_has_an_outside_check() -> None:
    by_case = {value.method for value in read_cases(CASES)}
    by_library = {m for file in FILES for m in file.said if file.tests_of(m)}
    unchecked = sorted(set(METHODS) - by_case - by_library)
    assert unchecked == [], "no case file and no library test checks these"


def test_checks_name_only_methods_that_there_are() -> None:
    named = {value.method for value in read_cases(CASES)} | {m for f in FILES for m in f.said}
    assert sorted(named - set(METHODS)) == []


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.path.stem)
def test_a_library_file_calls_what_it_says_it_checks(file: object) -> None:
    said = file.said  # type: ignore[attr-defined]
    assert said, "no CHECKS tuple that lists the methods it checks"
    assert [m for m in said if not file.tests_of(m)] == []  # type: ignore[attr-defined]


@pytest.mark.parametrize("path", sorted(CASES.glob("*.yaml")), ids=lambda p: p.stem)
def test_every_mark_is_known_and_every_source_says_where(path: Path) -> None:
    for entry in yaml.safe_load(path.read_text(encoding="utf-8")):
        assert entry["mark"] in MARKS, entry
        assert len(str(entry["source"]).strip()) >= 8, entry
        assert "reportgen" not in str(entry["source"]), "a check value never comes from ourselves"


def test_the_list_of_the_manual_is_up_to_date() -> None:
    written = (CASES / LIBRARIES).read_text(encoding="utf-8")
    assert written == libraries_json(FILES), "run python -m tests.support.count_checks --write"


def test_there_are_enough_checks(
    request: pytest.FixtureRequest, capsys: pytest.CaptureFixture[str]
) -> None:
    ids = [item.nodeid for item in request.session.items]
    here = {one.partition("::")[0].rsplit("/", 1)[-1] for one in ids}
    if not {file.path.name for file in FILES} <= here:
        # Only a part of the suite is run: ask for all of the library tests.
        ids = collected()
    counts = library_counts(ids, FILES)
    with capsys.disabled():
        print("\n" + table(counts))
    assert len(read_cases(CASES)) >= 150
    assert counts.total() >= 60
    assert [topic for topic in topics() if not counts[topic]] == [], "topics without any"


def test_titles_are_not_given_twice() -> None:
    titles: dict[str, str] = {}
    for name in METHODS:
        other = titles.setdefault(page(name).title, name)
        assert other == name, f"{other} and {name} have the same title"
