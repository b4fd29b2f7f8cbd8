"""Outside check values of the calculations: read from the case files, counted, and recomputed.

The case files lie beside the tests and travel in the wheel, so that the manual can show what each
calculation was held against. ``libraries.json`` beside them names the calculations that the tests
compute a second time by general-purpose reference libraries.
"""

from __future__ import annotations

import functools
import importlib
import json
import pkgutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml
from msgspec import Struct

import reportgen.science
from reportgen.resources import cases_dir
from reportgen.science.method import METHODS
from reportgen.science.number import nominal

MARKS = ("published", "reference library", "common practice", "from memory")
"""What a check value can be: how far its source can be looked up, best first."""

LIBRARIES = "libraries.json"


class CheckValue(Struct, frozen=True):
    """One outside check value: what goes in, what must come out within the tolerance, whose it is.

    ``pick`` is the member or attribute of the result that is meant; None for the whole result.
    """

    method: str
    inputs: Mapping[str, Any]
    expected: float
    tolerance: float
    source: str
    mark: str
    pick: str | int | None
    note: str

    def computed(self) -> float:
        """Return what the calculation gives for these inputs."""
        result = METHODS[self.method](**self.inputs)
        if isinstance(self.pick, str) and hasattr(result, self.pick):
            result = getattr(result, self.pick)
        elif self.pick is not None:
            result = result[self.pick]
        return nominal(result)


class LibraryCheck(Struct, frozen=True):
    """A test file that checks a calculation, and the reference libraries it does so by.

    Without any library it does so by a balance or a published rule that is worked in the test.
    """

    file: str
    libraries: tuple[str, ...]


@functools.lru_cache(maxsize=1)
def topics() -> tuple[str, ...]:
    """Return the modules of ``reportgen.science`` that hold calculations, imported and sorted."""
    for info in pkgutil.iter_modules(reportgen.science.__path__):
        importlib.import_module(f"reportgen.science.{info.name}")
    return tuple(sorted({name.split(".")[0] for name in METHODS}))


def check_value(case: Mapping[str, Any]) -> CheckValue:
    """Return one entry of a case file. KeyError when it lacks a key that it must have."""
    return CheckValue(
        case["function"],
        case["inputs"],
        case["expected"],
        case["tolerance"],
        " ".join(str(case["source"]).split()),
        case["mark"],
        case.get("pick"),
        " ".join(str(case.get("note", "")).split()),
    )


def read_cases(folder: Path) -> tuple[CheckValue, ...]:
    """Return every check value of a folder of case files, in the order of files and lines."""
    cases: list[CheckValue] = []
    for path in sorted(folder.glob("*.yaml")):
        entries = yaml.load(path.read_bytes(), getattr(yaml, "CSafeLoader", yaml.SafeLoader))
        cases += [check_value(entry) for entry in entries]
    return tuple(cases)


def read_libraries(folder: Path) -> dict[str, tuple[LibraryCheck, ...]]:
    """Return the test files that check each calculation by reference libraries."""
    by_method: dict[str, list[LibraryCheck]] = {}
    for entry in json.loads((folder / LIBRARIES).read_text(encoding="utf-8")):
        for method, libraries in entry["methods"].items():
            by_method.setdefault(method, []).append(LibraryCheck(entry["file"], tuple(libraries)))
    return {method: tuple(checks) for method, checks in by_method.items()}


@functools.lru_cache(maxsize=1)
def check_values() -> dict[str, tuple[CheckValue, ...]]:
    """Return the check values of each calculation; a calculation without any is not there."""
    by_method: dict[str, list[CheckValue]] = {}
    for value in read_cases(cases_dir()):
        by_method.setdefault(value.method, []).append(value)
    return {method: tuple(values) for method, values in by_method.items()}


@functools.lru_cache(maxsize=1)
def library_checks() -> dict[str, tuple[LibraryCheck, ...]]:
    """Return the test files that check each calculation; the same as :func:`read_libraries`."""
    return read_libraries(cases_dir())
