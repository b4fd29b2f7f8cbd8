"""The round that an archive makes, done by itself: install, begin, keep in git, clone, look again.

``python tests/round_trip.py`` builds the wheel, installs it with pip into environments of their own
(this fetches libraries), begins an archive, clones it to another place, and there checks, asks the
language server, commits under the hook, rehearses the workflow and prints. It says for each step
what it took, in seconds and megabytes, and ends with 1 when one failed. ``--here`` takes the
interpreter that runs it in place of fresh environments, and fetches nothing.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

ROOT = Path(__file__).parents[1]
MEGABYTE = 1_000_000
MOST = {"reportgen": 25, "reportgen[manual]": 150}
"""Most that an installation may take, MB, without pip; see the README for what each is for."""


class Failed(Exception):
    """A step that did not come out as it must; the message shows how."""


@dataclass
class Round:
    """One round: a folder of its own, the command to run, and what was measured."""

    folder: Path
    tool: list[str] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)

    def run(self, *command: str | Path, cwd: Path, may: tuple[int, ...] = (0,)) -> str:
        environment = {
            **{k: v for k, v in os.environ.items() if not k.startswith("GIT_")},
            "GIT_CONFIG_GLOBAL": os.devnull, "HOME": str(self.folder),
            "GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org",
            "GIT_COMMITTER_NAME": "A", "GIT_COMMITTER_EMAIL": "a@example.org",
        }  # fmt: skip
        done = subprocess.run(
            [str(word) for word in command], cwd=cwd, env=environment, capture_output=True,
            text=True, timeout=900,
        )  # fmt: skip
        if done.returncode not in may or "Traceback" in done.stderr.partition("Exception ign")[0]:
            raise Failed(f"{' '.join(map(str, command))}: {done.returncode}\n{done.stderr}")
        return done.stdout + done.stderr

    def step(self, what: str, work: Callable[[], str]) -> None:
        """Do one step and note what it took."""
        begun = time.monotonic()
        more = work()
        self.lines.append(f"{time.monotonic() - begun:7.1f} s  {what}{f': {more}' if more else ''}")
        print(self.lines[-1], flush=True)


def size(folder: Path) -> float:
    """Return the size of the files below a folder, MB."""
    return sum(p.stat().st_size for p in folder.rglob("*") if p.is_file()) / MEGABYTE


def install(one: Round, wheel: Path, requirement: str) -> str:
    """Install the wheel with an extra into an environment of its own; return how large it is."""
    place = one.folder / requirement.replace("[", "-").rstrip("]")
    one.run(sys.executable, "-m", "venv", place, cwd=one.folder)
    python = place / "bin" / "python"
    (site,) = place.glob("lib/python*/site-packages")
    before = size(site)
    extra = requirement.removeprefix("reportgen")
    one.run(python, "-m", "pip", "install", "-q", f"{wheel}{extra}", cwd=one.folder)
    one.tool = [str(python), "-m", "reportgen"]
    took = size(site) - before
    if took > MOST[requirement]:
        raise Failed(f"{requirement} takes {took:.0f} MB, more than {MOST[requirement]}")
    return f"{took:.0f} MB"


def archive(one: Round) -> str:
    """Begin an archive with a record and keep it in git."""
    house = one.folder / "house"
    one.run(*one.tool, "start", house, "--ci", cwd=one.folder)
    one.run(*one.tool, "new", "2026-01", cwd=house)
    one.run("git", "init", "-q", cwd=house)
    one.run("git", "add", "-A", cwd=house)
    one.run("git", "commit", "-q", "-m", "begun", cwd=house)
    return ""


def clone(one: Round) -> str:
    """Clone it to another place; nothing of the first is left."""
    away = one.folder / "far" / "away"
    one.run("git", "clone", "-q", one.folder / "house", away, cwd=one.folder)
    shutil.rmtree(one.folder / "house")
    for path in away.rglob("*.yaml"):
        head = path.read_text(encoding="utf-8").splitlines()[0]
        if not (path.parent / head.partition("$schema=")[2]).is_file():
            raise Failed(f"{path.relative_to(away)}: its first line leads nowhere")
    told = one.run(*one.tool, "check", "--fail-on", "major", cwd=away)
    if "editor" in told:
        raise Failed(told)
    if one.run("git", "status", "--porcelain", cwd=away):
        raise Failed("checking changed the clone")
    return ""


def printed(one: Round) -> str:
    """Print a sheet there, and the pages."""
    away = one.folder / "far" / "away"
    one.run(*one.tool, "build", cwd=away)
    if "0 built" not in one.run(*one.tool, "build", cwd=away):
        raise Failed("a second build built something")
    one.run(*one.tool, "verify", "2026-01", cwd=away)
    return f"{size(away / 'build'):.1f} MB"


PARTS = {
    "editor": ("tests/cli/test_editor.py",),
    "hook before a commit": ("tests/cli/test_pre_commit.py",),
    "workflow": ("tests/cli/test_workflow.py",),
    "pages in a browser": ("tests/web/test_ledger_pages.py",),
}
"""Parts of the round that have tests of their own, which are run."""


def tested(one: Round, files: tuple[str, ...]) -> str:
    """Run the tests of a part; return their closing line."""
    told = one.run(sys.executable, "-m", "pytest", "-o", "addopts=", "-q", *files, cwd=ROOT)
    return next((line for line in reversed(told.splitlines()) if " in " in line), "")


def main(arguments: list[str]) -> int:
    """Make the round; 1 when a step failed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--here", action="store_true", help="this interpreter; fetch nothing")
    given = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="reportgen-round-") as name:
        one = Round(Path(name).resolve(), [sys.executable, "-m", "reportgen"])
        try:
            if not given.here:
                build = ("hatchling", "build", "-t", "wheel", "-d", str(one.folder))
                one.step("wheel", lambda: one.run(sys.executable, "-m", *build, cwd=ROOT) and "")
                (wheel,) = one.folder.glob("*.whl")
                for wanted in MOST:
                    one.step(f"pip install {wanted}", partial(install, one, wheel, wanted))
            one.step("archive, first record, git", lambda: archive(one))
            one.step("clone to another place, check", lambda: clone(one))
            if not given.here:
                one.step("build, build again, verify", lambda: printed(one))
                for what, files in PARTS.items():
                    one.step(what, partial(tested, one, files))
        except Failed as error:
            print(f"failed: {error}", file=sys.stderr)
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
