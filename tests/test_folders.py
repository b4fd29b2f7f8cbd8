"""Each folder of tests runs alone and beside any other: what they share has names of its own."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
SHARED = {path.stem for path in (TESTS / "support").glob("*.py")}
FOLDERS = sorted({path.parent for path in TESTS.rglob("test_*.py")})


def imported(path: Path) -> set[str]:
    """Return the first part of every name of a module that a file imports."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.split(".")[0])
    return found


def test_nothing_is_imported_from_another_test() -> None:
    """A name that stands in two folders would be whichever of them was collected first."""
    own = {path.stem for path in TESTS.rglob("*.py")} - SHARED | {"tests"}
    wrong = {
        path.relative_to(TESTS).as_posix(): names
        for path in TESTS.rglob("*.py")
        # Programs, which are run from their own folder and never collected.
        if path.parent.name != "benchmark" and (names := imported(path) & own)
    }
    assert wrong == {}


def test_what_is_shared_hides_no_library() -> None:
    assert not SHARED & set(sys.stdlib_module_names)
    everywhere = set().union(*(imported(path) for path in TESTS.rglob("*.py")))
    assert everywhere >= SHARED, "shared by nobody"


@pytest.mark.parametrize("step", [1, -1])
def test_one_file_of_each_folder_is_collected_beside_the_others(step: int, tmp_path: Path) -> None:
    files = [min(folder.glob("test_*.py")) for folder in FOLDERS][::step]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-n0", "-q", "--collect-only", "-p", "no:cacheprovider",
         *map(str, files)],
        cwd=TESTS.parent, capture_output=True, text=True, timeout=300, check=False,
        env={**os.environ, "PYTHONPATH": str(TESTS.parent)},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-3000:]
    for file in files:
        assert file.relative_to(TESTS.parent).as_posix() + "::" in done.stdout
