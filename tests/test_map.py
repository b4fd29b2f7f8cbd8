"""The map of the house is true: which folder may import which, as data, held on every run."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "reportgen"

MAY_IMPORT: dict[str, set[str]] = {
    "record": set(),
    "science": set(),
    "forecast": {"record", "science"},
    "assessment": {"record", "science", "forecast"},
    "store": {"record"},
    "checks": {"record", "science", "forecast", "assessment", "store"},
    "history": {"record", "science", "forecast", "assessment"},
    "archive": {"record", "forecast", "assessment", "checks", "history", "store"},
    "report": {"record", "forecast", "assessment", "checks", "history", "archive", "store"},
    "planning": {
        "record", "science", "forecast", "assessment", "checks", "archive", "report", "store",
    },
    "verbs": {
        "record", "science", "forecast", "assessment", "checks", "history", "archive", "report",
        "store", "planning",
    },
}  # fmt: skip
"""Each folder of the package and the folders that it may import; itself it always may."""

ONLY = {
    ("archive", "science"): {"number", "yeast"},
    ("planning", "report"): {"figure_text", "text_table"},
    ("report", "science"): {
        "", "number", "method", "fermentation", "triangle", "density", "salts",
    },
}  # fmt: skip
"""Modules of a folder that another may import though not the folder."""

ANYWHERE = {
    "resources", "docstring_page", "commandline", "command_words",
    "missing", "loading", "photos", "typeface",
}  # fmt: skip
"""Modules beside the folders that know nothing of them."""

_IMPORT = re.compile(r"^\s*(?:from|import)\s+reportgen\.(\w+)(?:\.(\w+))?", re.M)


def arrows() -> list[tuple[str, str, str, str]]:
    """Return (file, folder, imported folder, imported module) of each import, also a late one."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).parts
        if len(parts) == 1:
            continue
        for target, module in _IMPORT.findall(path.read_text(encoding="utf-8")):
            if target != parts[0]:
                found.append((path.relative_to(ROOT).as_posix(), parts[0], target, module))
    return found


def test_no_arrow_points_back() -> None:
    wrong = [
        f"{file} imports reportgen.{target}.{module}"
        for file, folder, target, module in arrows()
        if target not in MAY_IMPORT[folder] | ANYWHERE
        and module not in ONLY.get((folder, target), set())
    ]
    assert wrong == []


def test_the_map_has_no_circle() -> None:
    done: set[str] = set()
    while len(done) < len(MAY_IMPORT):
        ready = {f for f, may in MAY_IMPORT.items() if f not in done and may <= done}
        assert ready, f"a circle among {set(MAY_IMPORT) - done}"
        done |= ready


def test_every_folder_is_on_the_map_and_in_the_guide() -> None:
    folders = {p.parent.name for p in PACKAGE.glob("*/__init__.py")}
    assert folders == set(MAY_IMPORT)
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for folder in folders:
        assert f"`reportgen/{folder}/`" in guide, folder


@pytest.mark.parametrize("folder", sorted(MAY_IMPORT))
def test_what_is_allowed_is_used(folder: str) -> None:
    """An arrow that nothing needs is taken off the map."""
    used = {target for _, own, target, _ in arrows() if own == folder}
    assert MAY_IMPORT[folder] <= used


def test_every_file_that_the_guide_names_is_there() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:\w+/)+\w*(?:\.(?:py|yaml|js|md))?)`", guide))
    assert len(named) > 40
    # `build/` is made, `TOPIC` stands for a name.
    wanted = {name for name in named if not name.startswith("build/") and "TOPIC" not in name}
    gone = [n for n in sorted(wanted) if not (ROOT / n).exists() and not (PACKAGE / n).exists()]
    assert gone == []


def test_a_class_has_a_name_of_its_own() -> None:
    """What two modules call alike is one thing, told from no other by where it was found."""
    declared = re.compile(r"^class (\w+)", re.M)
    names = Counter(
        name for path in PACKAGE.rglob("*.py") for name in declared.findall(path.read_text("utf-8"))
    )
    assert [name for name, times in names.items() if times > 1] == []


def test_no_module_is_called_alike_in_three_folders() -> None:
    names = Counter(path.stem for path in PACKAGE.rglob("*.py") if path.stem != "__init__")
    assert [name for name, times in names.items() if times > 2] == []
