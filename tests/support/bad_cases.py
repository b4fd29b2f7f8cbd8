"""Cases of bad content: how they are written, laid over the example archive, and marked.

A file in ``bad/`` is a list of cases. ``replace`` edits the file named by ``file`` (``record`` if
not said; each old text must stand there once, with ``first: true`` the first of several is taken),
``add`` is put at the end of the record, ``whole`` replaces it, ``files`` adds others. ``«`` and
``»`` enclose the stretch that a finding must mark; with nothing between them only its start
counts. ``says`` names the rule of each, in the order of the marks; a place that the case does not
write itself is said as ``rule 2:1`` or ``rule stock.yaml:3:5``.
"""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

BAD = Path(__file__).parents[1] / "hard" / "bad"
EXAMPLE = Path(__file__).parents[1] / "example"
RECORD = "2026/2026-01.yaml"
NAMES = {"record": RECORD, "brewery": "brewery.yaml", "stock": "stock.yaml"}
_MARK = re.compile("«([^»\n]*)»")


@dataclass(frozen=True)
class Place:
    """Where a finding must lie; ``end`` is None where only the start is asked for."""

    rule: str
    file: str
    line: int
    column: int
    end: int | None = None


@dataclass(frozen=True)
class Case:
    """One case: what is written, and everything that must be said of it."""

    name: str
    texts: dict[str, str]
    expected: tuple[Place, ...]

    def lay_over(self, root: Path) -> None:
        """Make the example archive with the fault in a folder that does not exist yet."""
        shutil.copytree(EXAMPLE, root)
        for file, text in self.texts.items():
            path = root / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")


def _without_marks(file: str, text: str) -> tuple[str, list[tuple[str, int, int, int | None]]]:
    marks: list[tuple[str, int, int, int | None]] = []
    lines = text.split("\n")
    for number, line in enumerate(lines):
        while found := _MARK.search(line):
            column = found.start() + 1
            end = column + len(found[1]) if found[1] else None
            marks.append((file, number + 1, column, end))
            line = line[: found.start()] + found[1] + line[found.end() :]
        lines[number] = line
    return "\n".join(lines), marks


def _case(raw: dict[str, Any], group: str) -> Case:
    known = {"case", "file", "replace", "first", "add", "whole", "files", "says", "checks"}
    assert set(raw) <= known, f"{raw.get('case')}: {set(raw) - known}"
    texts: dict[str, str] = {}
    name = NAMES[raw.get("file", "record")]
    base = (EXAMPLE / name).read_text(encoding="utf-8")
    for old, new in raw.get("replace", {}).items():
        count = base.count(old)
        assert count == 1 or (count and raw.get("first")), f"{raw['case']}: {old!r} {count} times"
        base = base.replace(old, new, 1)
    if "replace" in raw:
        texts[name] = base
    if "add" in raw:
        texts[RECORD] = (EXAMPLE / RECORD).read_text(encoding="utf-8") + raw["add"]
    if "whole" in raw:
        texts[name] = raw["whole"]
    texts |= raw.get("files", {})
    marks: list[tuple[str, int, int, int | None]] = []
    for file in texts:
        texts[file], found = _without_marks(file, texts[file])
        marks += found
    expected = []
    for said in raw["says"]:
        rule, _, where = said.partition(" ")
        if where:
            *file, line, column = where.split(":")
            expected.append(Place(rule, file[0] if file else name, int(line), int(column)))
        elif marks:
            place = marks.pop(0)
            expected.append(Place(rule, *place))
        else:
            assert expected, raw["case"]
            expected.append(
                Place(rule, expected[-1].file, expected[-1].line, expected[-1].column)
            )
    assert not marks, f"{raw['case']}: a mark without a rule"
    return Case(f"{group}: {raw['case']}", texts, tuple(expected))


def one_of_each(group: str) -> list[Case]:
    """Return one case of each set of rules, files written and files spoken of.

    Of those that name a batch there is none alike: each hangs on other records in its own way.
    """
    found = {
        (frozenset(p.rule for p in c.expected), frozenset(c.texts),
         frozenset(p.file for p in c.expected), c.name if "no batch" in c.name else ""): c
        for c in cases(group)
    }  # fmt: skip
    return list(found.values())


def cases(group: str) -> list[Case]:
    """Return the cases of one file of ``bad/``."""
    found = yaml.safe_load((BAD / f"{group}.yaml").read_text(encoding="utf-8"))
    return [_case(raw, group) for raw in found]
