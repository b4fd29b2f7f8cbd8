"""Git as it is met: what is known of a plan that changed, what cannot be, and nobody is accused."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from houses import commit, edit, git, house, loaded

from reportgen.archive.checked import findings_in
from reportgen.archive.revisions import NoRevision, names_of, resolve, text_at
from reportgen.assessment.assess import assess
from reportgen.report.change_list import change_list

RULE = "plan-changed-since-issued"
PLANS = {"2026-01": "plan: {grist: [{malt: pale, amount: 7.0 kg}]}"}
RECORD = "2026/2026-01.yaml"
ACCUSING = ("was not committed", "never committed", "not kept in git")


def said(folder: Path) -> str:
    (message,) = (f.message for f in findings_in(loaded(folder)) if f.rule == RULE)
    return message


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An archive in git: a sheet was issued, then the plan was changed, both committed."""
    folder = house(tmp_path / "a", PLANS)
    git(folder, "init", "-q", "-b", "main")
    commit(folder, "Plan")
    plan = loaded(folder).batches["2026-01"].plan_hash
    path = folder / RECORD
    text = path.read_text(encoding="utf-8")
    path.write_text(f"{text}\nissued: {{plan: {plan}, copy: 1}}\n", encoding="utf-8")
    commit(folder, "Issued")
    edit(path, "7.0 kg", "9.6 kg")
    commit(folder, "Changed")
    return folder


FOUND = "7.0 kg → 9.6 kg"


def test_as_it_should_be(folder: Path) -> None:
    assert FOUND in said(folder)


def shallow(folder: Path) -> Path:
    place = folder.parent / "clone"
    git(folder.parent, "clone", "-q", "--depth", "1", f"file://{folder}", str(place))
    return place


def worktree(folder: Path) -> Path:
    git(folder, "worktree", "add", "-q", "--detach", str(folder.parent / "tree"))
    return folder.parent / "tree"


def submodule(folder: Path) -> Path:
    outer = folder.parent / "outer"
    outer.mkdir()
    git(outer, "init", "-q")
    git(outer, "-c", "protocol.file.allow=always", "submodule", "add", "-q", str(folder), "beer")
    return outer / "beer"


def detached(folder: Path) -> Path:
    git(folder, "checkout", "-q", "--detach")
    return folder


def renamed(folder: Path) -> Path:
    (folder / "old").mkdir()
    git(folder, "mv", RECORD, f"old/{Path(RECORD).name}")
    commit(folder, "Moved")
    return folder


def moved_down(folder: Path) -> Path:
    """The archive began where the repository begins, and is a folder of it now."""
    (folder / "batches").mkdir()
    for name in ("brewery.yaml", "stock.yaml", "2026"):
        git(folder, "mv", name, f"batches/{name}")
    commit(folder, "Moved down")
    return folder / "batches"




@pytest.mark.parametrize(
    "met", [worktree, submodule, detached, renamed, moved_down], ids=lambda f: str(f.__name__)
)
def test_what_is_there_is_found(folder: Path, met: Callable[[Path], Path]) -> None:
    assert FOUND in said(met(folder))


def test_a_hook_of_another_repository_changes_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_DIR", "nowhere/.git")
    monkeypatch.setenv("GIT_INDEX_FILE", "nowhere/index")
    assert FOUND in said(folder)


def test_a_shallow_clone_says_what_it_lacks(folder: Path) -> None:
    place = shallow(folder)
    message = said(place)
    assert "this clone is shallow" in message and "git fetch --unshallow" in message
    assert not any(words in message for words in ACCUSING)
    found = assess(loaded(place), loaded(place).batches["2026-01"])
    assert found is not None
    (only,) = change_list(found, "A4").revisions
    assert only.note.startswith("As far as this shallow clone goes back")
    with pytest.raises(NoRevision, match="shallow"):
        resolve(place, "HEAD~1")


def bare(folder: Path) -> Path:
    git(folder, "clone", "-q", "--bare", ".", str(folder.parent / "bare.git"))
    place = folder.parent / "bare.git" / "archive"
    shutil.copytree(folder, place, ignore=shutil.ignore_patterns(".git"))
    return place


def empty(folder: Path) -> Path:
    shutil.rmtree(folder / ".git")
    git(folder, "init", "-q")
    return folder


def corrupt_head(folder: Path) -> Path:
    (folder / ".git" / "HEAD").write_bytes(b"\0\0\0")
    return folder


def lost_object(folder: Path) -> Path:
    """An object of the history is cut off, as after a full disk."""
    blob = git(folder, "rev-parse", f"HEAD~1:{RECORD}")
    path = folder / ".git" / "objects" / blob[:2] / blob[2:]
    path.chmod(0o644)
    path.write_bytes(b"")
    return folder


def absent(folder: Path) -> Path:
    shutil.rmtree(folder / ".git")
    return folder


CANNOT = {
    bare: "inside the repository's own data or in a bare one",
    empty: "nothing has been committed yet",
    corrupt_head: "damaged or not whole; fix: look at it with `git fsck`",
    lost_object: "git cannot read the history here",
    absent: "the archive is not kept in git",
}


@pytest.mark.parametrize("met", CANNOT, ids=lambda f: str(f.__name__))
def test_what_cannot_be_known_is_said_to_be_so(
    folder: Path, met: Callable[[Path], Path]
) -> None:
    message = said(met(folder))
    assert "cannot be shown: " in message and CANNOT[met] in message
    assert met is absent or not any(words in message for words in ACCUSING)


def test_a_repository_of_another_owner_is_told_with_the_way_out(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    message = said(folder)
    assert "belongs to another user" in message
    assert f"git config --global --add safe.directory {folder}" in message


def test_a_rewritten_history_is_not_taken_for_a_fault(folder: Path) -> None:
    git(folder, "checkout", "-q", "--orphan", "squashed")
    commit(folder, "All in one")
    assert "or the history was rewritten since" in said(folder)


def test_a_name_with_signs_is_one_file(folder: Path) -> None:
    odd = folder / "2026" / "a[1]*.yaml"
    odd.write_text("x: 1\n", encoding="utf-8")
    commit(folder, "Another")
    assert names_of(folder, "2026/a[1]*.yaml") == ["2026/a[1]*.yaml"]
    assert text_at(folder, resolve(folder, "HEAD"), "2026/a[1]*.yaml") == b"x: 1\n"
    assert text_at(folder, resolve(folder, "HEAD"), "2026/none.yaml") is None
