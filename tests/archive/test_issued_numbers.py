"""Issued is frozen: the record says when the numbers of its sheet cannot be had again, and why.

21 CFR 211.188(a): a batch record is an accurate reproduction of the master that was issued.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from houses import git, house, loaded

from reportgen.archive.checked import findings_in
from reportgen.cli import main

RULE = "numbers-changed-since-issued"
DAY = "brew_day: {date: 2026-03-14, mash: {mash_temperature: 66.4 C}}\n"


def said(folder: Path) -> list[str]:
    return [f.message for f in findings_in(loaded(folder)) if f.rule == RULE]


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.fixture
def folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """An archive whose batch was issued by the line that ``sheet`` prints, and then brewed."""
    folder = house(tmp_path / "a", {"2026-01": ""})
    record = folder / "2026" / "2026-01.yaml"
    assert main(["sheet", str(record), "--html", "--copy", "2"]) == 0
    line = re.search(r"^issued: \{.*copy: 2, on: YYYY-MM-DD\}$", capsys.readouterr().err, re.M)
    assert line is not None
    text = record.read_text(encoding="utf-8")
    issued = line[0].replace("YYYY-MM-DD", "2026-03-13")
    record.write_text(f"{text}\n{issued}\n{DAY}", encoding="utf-8")
    assert main(["check", str(record), "--fail-on", "major"]) == 0
    return folder


def test_what_is_read_later_moves_no_number_of_the_sheet(folder: Path) -> None:
    assert said(folder) == []


def test_a_change_with_its_day_leaves_them(folder: Path) -> None:
    edit(folder / "brewery.yaml", "  main:\n",
         "  main:\n    since: [{from: 2026-04-01, conversion: 80 %}]\n")
    assert said(folder) == []


def test_a_change_without_its_day_is_said(folder: Path) -> None:
    edit(folder / "brewery.yaml", "    conversion: ", "    conversion: 80 % # ")
    (one,) = said(folder)
    assert "the same plan now gives" in one and "not kept in git" in one


def test_which_value_was_changed_is_told_from_git(folder: Path) -> None:
    git(folder, "init", "-q", "-b", "main")
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "First")
    edit(folder / "brewery.yaml", "    conversion: ", "    conversion: 80 % # ")
    (one,) = said(folder)
    assert re.search(r"changed since revision [0-9a-f]{10} of .*main, conversion: .* → 80 %$", one)
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "Second")
    (again,) = said(folder)
    assert again == one


def test_a_changed_plan_is_said_once(folder: Path) -> None:
    edit(folder / "2026" / "2026-01.yaml", "amount: 7.0 kg", "amount: 7.1 kg")
    rules = [f.rule for f in findings_in(loaded(folder))]
    assert "plan-changed-since-issued" in rules and RULE not in rules


def test_the_line_is_the_same_on_any_day(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    record = folder / "2026" / "2026-01.yaml"
    said_twice = set()
    for _ in range(2):
        capsys.readouterr()
        main(["sheet", str(record), "--html"])
        said_twice.add(capsys.readouterr().err)
    assert len(said_twice) == 1
