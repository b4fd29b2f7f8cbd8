"""Real processes for the tests of this folder: a small archive, and the command on it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "example"
RECORD = "2026/2026-01.yaml"
COMMAND = [sys.executable, "-m", "reportgen"]


def small_archive(root: Path) -> Path:
    """Copy the example archive, with a brew day so that there is a record to print."""
    shutil.copytree(EXAMPLE, root)
    with (root / RECORD).open("a", encoding="utf-8") as file:
        file.write("brew_day:\n  date: 2026-03-14\n  pitch: {original_gravity: 1.049}\n")
    return root


def environment(**more: str) -> dict[str, str]:
    """Return the environment of this process with the checkout on the path."""
    return {**os.environ, "PYTHONPATH": str(ROOT), **more}


def reportgen(
    *arguments: str, cwd: Path, before: list[str] | None = None, **more: str
) -> subprocess.CompletedProcess[str]:
    """Run the command; ``before`` is a program to run it under."""
    return subprocess.run(
        [*(before or []), *COMMAND, *arguments],
        cwd=cwd,
        capture_output=True,
        text=True,
        errors="replace",
        timeout=600,
        env=environment(**more),
    )


def tree(root: Path) -> dict[str, bytes]:
    """Return the bytes of every file below a folder by its name."""
    files = (p for p in sorted(root.rglob("*")) if p.is_file() and not p.is_symlink())
    return {p.relative_to(root).as_posix(): p.read_bytes() for p in files}
