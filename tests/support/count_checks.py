"""Counts the outside checks of the calculations, and lists what the tests hold them against.

``python -m tests.support.count_checks`` prints a table: topic, methods, case values by mark, checks
computed by reference libraries. With ``--write`` it also writes ``cases/libraries.json``, from
which the manual names the libraries that a calculation was checked by.

A library check is a test of a ``test_TOPIC_against_libraries.py`` whose body, or what it calls or
reads in its module, uses a reference library. Tests of other kinds in these files do not count.
"""

from __future__ import annotations

import ast
import json
import runpy
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from reportgen.report.evidence import LIBRARIES, MARKS, read_cases, topics
from reportgen.science.method import METHODS

HERE = Path(__file__).parents[1] / "science"
CASES = HERE / "cases"
LATER = runpy.run_path(str(Path(__file__).with_name("reference.py")))
REFERENCE = {
    "CoolProp", "chemicals", "chempy", "fluids", "iapws", "molmass", "numpy", "phreeqpython",
    "pint", "scipy",
}  # fmt: skip
"""General-purpose libraries that compute a check value. ``uncertainties`` is not among them, since
the calculations themselves use it."""


@dataclass(frozen=True)
class LibraryTest:
    """One test function: the reference libraries it uses, if any, and every name it touches."""

    name: str
    libraries: frozenset[str]
    touches: frozenset[str]


@dataclass(frozen=True)
class LibraryFile:
    """One test file: its topic, the methods it says it checks, its tests."""

    path: Path
    topic: str
    said: tuple[str, ...]
    tests: tuple[LibraryTest, ...]

    def tests_of(self, method: str) -> list[LibraryTest]:
        """Return the tests that touch a method."""
        function = method.split(".")[1]
        return [t for t in self.tests if function in t.touches or method in t.touches]


def library_files() -> list[LibraryFile]:
    """Return every ``test_TOPIC_against_libraries.py``, read and not run."""
    return [_read(path) for path in sorted(HERE.glob("test_*_against_libraries*.py"))]


def _imported(node: ast.AST) -> dict[str, str]:
    """Return the names that an import, or an ``importorskip``, makes, each with its library."""
    found: dict[str, str] = {}
    for part in ast.walk(node):
        if isinstance(part, ast.Import):
            for alias in part.names:
                found[(alias.asname or alias.name).split(".")[0]] = alias.name.split(".")[0]
        elif isinstance(part, ast.ImportFrom) and part.module:
            for alias in part.names:
                # What is loaded when it is first asked says itself of which library it is.
                later = LATER[alias.name] if part.module == "reference" else None
                library = later.library if later is not None else part.module
                found[alias.asname or alias.name] = library.split(".")[0]
        elif isinstance(part, ast.Call) and getattr(part.func, "attr", "") == "importorskip":
            name = ast.literal_eval(part.args[0]).split(".")[0]
            # Whatever it is bound to, the body that asks for it uses it.
            found[f"importorskip {name}"] = name
    return found


def _touched(node: ast.AST) -> set[str]:
    names = set()
    for part in ast.walk(node):
        if isinstance(part, ast.Name):
            names.add(part.id)
        elif isinstance(part, ast.Attribute):
            names.add(part.attr)
        elif isinstance(part, ast.arg):
            # A fixture is asked for by the name of an argument.
            names.add(part.arg)
        elif isinstance(part, ast.Constant) and isinstance(part.value, str):
            names.add(part.value)
    return names | {name for name in _imported(node) if name.startswith("importorskip")}


def _read(path: Path) -> LibraryFile:
    module = ast.parse(path.read_text(encoding="utf-8"))
    said: tuple[str, ...] = ()
    defined: dict[str, list[ast.AST]] = {}
    for node in module.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            defined.setdefault(node.name, []).append(node)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            for target in targets:
                if isinstance(target, ast.Name):
                    if target.id == "CHECKS" and node.value is not None:
                        said = tuple(ast.literal_eval(node.value))
                    else:
                        defined.setdefault(target.id, []).append(node)
    libraries = {n: m for n, m in _imported(module).items() if m in REFERENCE}
    tests = []
    for name, nodes in defined.items():
        if not name.startswith("test_"):
            continue
        touches: set[str] = set()
        pending = list(nodes)
        seen = {name}
        while pending:
            new = _touched(pending.pop())
            touches |= new
            for other in (new & set(defined)) - seen:
                seen.add(other)
                pending += defined[other]
        used = frozenset(libraries[n] for n in touches & set(libraries))
        tests.append(LibraryTest(name, used, frozenset(touches)))
    topic = path.stem.removeprefix("test_").split("_against_libraries")[0]
    return LibraryFile(path, topic, said, tuple(tests))


def libraries_json(files: Iterable[LibraryFile]) -> str:
    """Return the text of ``libraries.json``: the methods each file checks, and by which libraries.

    A method without any is checked there by a balance or a published rule worked in the test.
    """
    entries = [
        {
            "file": f"tests/science/{file.path.name}",
            "methods": {
                method: sorted(
                    {lib for t in file.tests_of(method) for lib in t.libraries}, key=str.lower
                )
                for method in sorted(file.said)
                if file.tests_of(method)
            },
        }
        for file in files
    ]
    return json.dumps(entries, indent=1) + "\n"


def collected() -> list[str]:
    """Return the ids of all tests in the library files, as pytest collects them."""
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-o", "addopts=", "-p", "no:cacheprovider",
         "--collect-only", "-q", *(str(f.path) for f in library_files())],
        cwd=HERE.parents[1], capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    if done.returncode != 0:
        raise RuntimeError(done.stdout[-2000:] + done.stderr[-2000:])
    return [line for line in done.stdout.splitlines() if "::" in line]


def library_counts(ids: Iterable[str], files: Iterable[LibraryFile]) -> Counter[str]:
    """Count by topic the collected tests that use a reference library."""
    wanted = {
        (file.path.name, t.name): file.topic for file in files for t in file.tests if t.libraries
    }
    counts: Counter[str] = Counter()
    for one in ids:
        path, _, rest = one.partition("::")
        topic = wanted.get((Path(path).name, rest.split("[")[0]))
        if topic is not None:
            counts[topic] += 1
    return counts


def table(library: Counter[str]) -> str:
    """Return the table of all topics, with totals."""
    modules = topics()
    cases: dict[str, Counter[str]] = {}
    for value in read_cases(CASES):
        cases.setdefault(value.method.split(".")[0], Counter())[value.mark] += 1
    methods = Counter(name.split(".")[0] for name in METHODS)
    heads = ("topic", "methods", *MARKS, "all cases", "by library")
    rows = []
    for topic in sorted(set(modules) | set(cases) | set(library)):
        marks = cases.get(topic, Counter())
        numbers = [methods[topic], *(marks[m] for m in MARKS), marks.total(), library[topic]]
        rows.append((topic, *numbers))
    totals = ("all", *(sum(row[n] for row in rows) for n in range(1, len(heads))))
    widths = [max(13 if n == 0 else 7, len(head)) for n, head in enumerate(heads)]
    lines = []
    for row in (heads, *rows, totals):
        cells = [str(cell) for cell in row]
        lines.append(
            cells[0].ljust(widths[0])
            + "".join("  " + c.rjust(w) for c, w in zip(cells[1:], widths[1:], strict=True))
        )
    lines.insert(1, "-" * len(lines[0]))
    lines.insert(-1, "-" * len(lines[0]))
    return "\n".join(lines)


def main(arguments: list[str]) -> None:
    """Print the table; with ``--write`` renew ``cases/libraries.json`` first."""
    files = library_files()
    if "--write" in arguments:
        (CASES / LIBRARIES).write_text(libraries_json(files), encoding="utf-8")
    print(table(library_counts(collected(), files)))


if __name__ == "__main__":
    main(sys.argv[1:])
