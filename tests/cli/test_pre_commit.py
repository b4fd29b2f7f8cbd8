"""The hook for git, run by pre-commit itself in a repository of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

ROOT = Path(__file__).parents[2]
MANIFEST = ROOT / ".pre-commit-hooks.yaml"
EXAMPLE = ROOT / "tests" / "example"


def run(*command: str, cwd: Path, home: Path) -> subprocess.CompletedProcess[str]:
    names = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
    environment = {
        **names,
        "HOME": str(home),
        "PRE_COMMIT_HOME": str(home / "hooks"),
        "PATH": f"{home / 'bin'}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": str(ROOT),
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org",
        "GIT_COMMITTER_NAME": "A", "GIT_COMMITTER_EMAIL": "a@example.org",
    }  # fmt: skip
    return subprocess.run(
        command, cwd=cwd, env=environment, capture_output=True, text=True, timeout=120
    )


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """An archive in git with our hook, run by what is installed here so that nothing is fetched."""
    pytest.importorskip("pre_commit", reason="pre-commit is not installed")
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    (tmp_path / "bin").mkdir()
    command = tmp_path / "bin" / "reportgen"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m reportgen "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    folder = tmp_path / "house"
    shutil.copytree(EXAMPLE, folder)
    (hook,) = yaml.safe_load(MANIFEST.read_text(encoding="utf-8"))
    # The one difference from the manifest: no environment of its own is made.
    local = {"repo": "local", "hooks": [{**hook, "language": "system"}]}
    (folder / ".pre-commit-config.yaml").write_text(yaml.safe_dump({"repos": [local]}))
    assert run("git", "init", "-q", cwd=folder, home=tmp_path).returncode == 0
    python = [sys.executable, "-m", "pre_commit"]
    assert run(*python, "install", cwd=folder, home=tmp_path).returncode == 0
    return folder


def commit(folder: Path) -> subprocess.CompletedProcess[str]:
    assert run("git", "add", "-A", cwd=folder, home=folder.parent).returncode == 0
    return run("git", "commit", "-m", "day", cwd=folder, home=folder.parent)


def test_the_manifest_is_one_that_pre_commit_takes(tmp_path: Path) -> None:
    pytest.importorskip("pre_commit", reason="pre-commit is not installed")
    done = run(sys.executable, "-m", "pre_commit", "validate-manifest", str(MANIFEST),
               cwd=tmp_path, home=tmp_path)  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_commit_with_a_mistake_is_stopped_and_told_where(repository: Path) -> None:
    record = repository / "2026" / "2026-01.yaml"
    sound = record.read_text(encoding="utf-8")
    record.write_text(sound.replace("malt: pale,", "malt: palle,"), encoding="utf-8")
    done = commit(repository)
    told = done.stdout + done.stderr
    assert done.returncode == 1, told
    assert "2026/2026-01.yaml:10:14: error: `palle`" in told and "did you mean `pale`" in told

    # Fixed, it goes through: what is only to be noted stops no one.
    record.write_text(sound, encoding="utf-8")
    done = commit(repository)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "reportgen check" in done.stdout + done.stderr


def test_a_commit_without_a_record_runs_nothing(repository: Path) -> None:
    assert commit(repository).returncode == 0
    (repository / "notes.txt").write_text("x", encoding="utf-8")
    done = commit(repository)
    assert done.returncode == 0 and "no files to check" in done.stdout + done.stderr
