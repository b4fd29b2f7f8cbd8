"""What git has of changes in a record: a list of its own, and the record does not depend on it."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from pathlib import Path

import pytest
from houses import inside, plain_pages
from printed import ARCHIVE, texts

from reportgen.report.change_list import line_changes

RECORD = "2026/2026-01.yaml"


def git(root: Path, *arguments: str) -> None:
    """Run git in a folder, with an author and without anybody's own settings."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    names = {f"GIT_{who}_{what}": "a@example.org" for who in ("AUTHOR", "COMMITTER")
             for what in ("NAME", "EMAIL")}  # fmt: skip
    clean = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
    own = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
    subprocess.run(["git", *arguments], cwd=root, check=True, capture_output=True, timeout=60,
                   env={**clean, **own, **names})  # fmt: skip


def made(root: Path, *options: str) -> subprocess.CompletedProcess[str]:
    """Make the record with its change list, as a brewer does."""
    done = inside("record", RECORD, "--changes", *options, cwd=root)
    assert done.returncode == 0, done.stderr
    return done


def digest(root: Path) -> str:
    return hashlib.sha256((root / "build/records/2026-01.html").read_bytes()).hexdigest()


def test_changes_are_listed_and_the_record_stays_the_same(tmp_path: Path) -> None:
    root = tmp_path / "house"
    shutil.copytree(ARCHIVE, root)
    file = root / RECORD
    lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
    # A plan that is not the one of the sheet is looked up in git; that is tested elsewhere.
    file.write_text("".join(x for x in lines if not x.startswith("issued:")), encoding="utf-8")
    without = made(root, "--html")
    assert "no change list: the archive is not kept in git" in without.stderr
    before = digest(root)
    git(root, "init", "-q")
    git(root, "add", RECORD, "brewery.yaml", "stock.yaml")
    git(root, "commit", "-qm", "As typed")
    page = made(root, "--html").stdout.split()
    assert page == ["build/records/2026-01.html", "build/records/2026-01-changes.html"]
    assert digest(root) == before
    text = file.read_text(encoding="utf-8")
    assert "final_gravity: 1.012\n" in text
    file.write_text(text.replace("final_gravity: 1.012\n", "final_gravity: 1.011\n"), "utf-8")
    git(root, "commit", "-qam", "Read again, <b>corrected</b>")
    file.write_text(file.read_text("utf-8").replace("Shed Bitter", "Shed Best"), "utf-8")
    # The list is printed as it is, beside a record of one line.
    plain_pages(root)
    assert "2026-01-changes.pdf" in made(root).stdout
    said = " ".join(texts(root / "build/records/2026-01-changes.pdf"))
    assert said.index("As typed") < said.index("Read again, <b>corrected</b>")
    assert "final_gravity: 1.012 final_gravity: 1.011" in said
    assert "Not committed yet" in said and "name: Shed Best" in said


def test_lines_that_differ() -> None:
    found = line_changes("a: 1\nb: 2\n\nc: 3\n", "a: 1\nb: 4\nc: 3\nd: 5\n")
    assert [(c.line, c.was, c.now) for c in found] == [("2", "b: 2", "b: 4"), ("4", "", "d: 5")]
    assert line_changes("x\n", "x\n") == ()


def test_a_line_is_held_against_the_one_of_the_same_key() -> None:
    before = "a: 1\n# brew_day:\n# date: x\nb: 2\n"
    after = "a: 1\nbrewers: [AB]\nb: 3\nc: 4\n"
    found = [(c.line, c.was, c.now) for c in line_changes(before, after)]
    assert ("2", "", "brewers: [AB]") in found
    assert ("", "# brew_day:", "") in found and ("", "# date: x", "") in found
    assert ("3", "b: 2", "b: 3") in found and ("4", "", "c: 4") in found
